package cli

import (
	"fmt"
	"path/filepath"
	"strings"

	"github.com/spf13/pflag"
)

// picture is the name of a picture's file.
type picture string

// bindPlot declares --plot.
func bindPlot(f *pflag.FlagSet, file *string, usage string) {
	f.Var((*picture)(file), "plot", usage)
}

func (p *picture) String() string { return string(*p) }

func (p *picture) Type() string { return "string" }

func (p *picture) Set(name string) error {
	if plotFormat(name) == "" {
		return fmt.Errorf("wants a name that ends in .svg or .png")
	}
	*p = picture(name)
	return nil
}

// plotFormat is what a name of a picture asks for: "svg", "png", or else "".
func plotFormat(name string) string {
	switch ext := strings.ToLower(filepath.Ext(name)); ext {
	case ".svg", ".png":
		return ext[1:]
	}
	return ""
}
