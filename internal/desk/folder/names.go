package folder

import (
	"fmt"
	"path"
	"strings"
	"unicode"
	"unicode/utf8"
)

// mostName is how many bytes a name may have: less than any file system takes, so that
// the names of what is built beside have room.
const mostName = 200

// devices are names that one system keeps for devices, whatever stands behind a dot.
var devices = func() map[string]bool {
	m := map[string]bool{"CON": true, "PRN": true, "AUX": true, "NUL": true, "CONIN$": true, "CONOUT$": true}
	for _, port := range []string{"COM", "LPT"} {
		for _, n := range "0123456789¹²³" {
			m[port+string(n)] = true
		}
	}
	return m
}()

// CheckName says what is wrong with the name of a file that is to lie in the folder
// itself, nil where it can be: it is a name on every system, leads nowhere else, and is
// not taken for an option.
func CheckName(name string) error {
	stem, _, _ := strings.Cut(name, ".")
	switch {
	case name == "":
		return fmt.Errorf("no name is given")
	case len(name) > mostName:
		return fmt.Errorf("the name has %d bytes; %d are the most", len(name), mostName)
	case !utf8.ValidString(name) || strings.ContainsFunc(name, func(r rune) bool { return !unicode.IsPrint(r) }):
		return fmt.Errorf("the name %q has characters that cannot be printed", name)
	case strings.ContainsAny(name, `/\`):
		return fmt.Errorf("the name %q has a / or \\: wants a name in the folder itself", name)
	case strings.ContainsAny(name, `:*?"<>|`):
		return fmt.Errorf("the name %q has one of : * ? \" < > |, which not every system takes", name)
	case name[0] == '.':
		return fmt.Errorf("the name %q begins with a dot", name)
	case name[0] == '-':
		return fmt.Errorf("the name %q begins with -, as options do", name)
	case name[0] == ' ' || strings.HasSuffix(name, ".") || strings.HasSuffix(name, " "):
		return fmt.Errorf("the name %q begins or ends with a space, or ends with a dot", name)
	case devices[strings.ToUpper(strings.TrimRight(stem, " "))]:
		return fmt.Errorf("the name %q is that of a device on some systems", name)
	}
	return nil
}

// Base is the last part of a name that may come with the way to it, as of another system.
func Base(name string) string { return name[strings.LastIndexAny(name, `/\\`)+1:] }

// checkPath is CheckName for a name, or one in a folder of zones: FOLDER/NAME.
func checkPath(name string) error {
	dir, base, inside := strings.Cut(name, "/")
	if !inside {
		return CheckName(name)
	}
	if err := CheckName(dir); err != nil {
		return err
	}
	return CheckName(base)
}

// Stem is a name without its end.
func Stem(name string) string { return strings.TrimSuffix(name, path.Ext(name)) }
