package cli

import (
	"bytes"
	"cmp"
	"fmt"
	"io"
	"math"
	"path/filepath"
	"strconv"
	"strings"

	"github.com/spf13/pflag"

	"sagitta/internal/cli/files"
	"sagitta/internal/job"
	"sagitta/internal/job/file"
	"sagitta/internal/option"
	"sagitta/internal/record"
)

// options are those that every command shares which lays a program over a
// surface.
type options struct {
	job.Options
	Summary string `opt:"summary" file:"json" is:"write the run's figures as JSON to <FILE>"`
}

// burnsOptions are those of every command that asks of burns whether they are in focus.
type burnsOptions struct {
	Burns string `opt:"burns" file:"toml" is:"rules about burns, a TOML <FILE>: by lines, tool, feed or power what is wanted of their focus, and which cut"`
}

// take has the job of a run do burns by the rules, where there are any; programs are those
// that are read.
func (o *burnsOptions) take(r *run, programs ...string) error {
	if o.Burns == "" {
		return nil
	}
	rules, err := r.readRules(o.Burns, programs...)
	if err != nil {
		return err
	}
	return r.job.TakeRules(o.Burns, rules)
}

// readRules reads the rules about burns in a file, beside programs that are read.
func (r *run) readRules(name string, programs ...string) (record.Burns, error) {
	if err := files.OneStream(append(append(programs, name, r.o.Surface, r.o.Machine, r.o.KeepOut), r.o.Lenses...)...); err != nil {
		return nil, err
	}
	return job.Read(r.open, name, rulesOf)
}

// rulesOf reads rules from a file of their own, or from a job file.
func rulesOf(in io.Reader, name string) (record.Burns, error) {
	var text bytes.Buffer
	if file.Is(io.TeeReader(in, &text)) {
		return record.ReadBurnsAmong(io.MultiReader(&text, in), name)
	}
	return record.ReadBurns(io.MultiReader(&text, in), name)
}

// newOptions are those of an empty command line.
func newOptions() options { return options{Options: job.Defaults()} }

// same are the options that mean the same in every command, by their names: a
// field that bears the name alone is described here.
var same = func() map[string]option.Option {
	m := map[string]option.Option{}
	for _, o := range option.Of(&struct {
		options
		Rehearsal bool   `opt:"rehearsal" is:"write the same motion with the beam off"`
		Sheet     string `opt:"sheet" file:"txt" is:"write the bench sheet to <FILE>: a page of text on how the bench is set up"`
	}{}) {
		m[o.Name] = o
	}
	return m
}()

// described are the options of the struct that at points to, each with what is said of it.
func described(at any) []option.Option {
	list := option.Of(at)
	for i := range list {
		if o := &list[i]; o.Meaning == "" {
			s := same[o.Name]
			o.Letter, o.Meaning, o.In, o.Tag = s.Letter, s.Meaning, cmp.Or(o.In, s.In), s.Tag
		}
	}
	return list
}

// bind declares the options of the struct that at points to. What its fields
// have is the default.
func bind(f *pflag.FlagSet, at any) {
	f.SortFlags = false
	also := map[string]string{}
	f.SetNormalizeFunc(func(_ *pflag.FlagSet, name string) pflag.NormalizedName {
		return pflag.NormalizedName(cmp.Or(also[name], name))
	})
	quoted := strings.NewReplacer("<", "`", ">", "`")
	for _, o := range described(at) {
		usage := quoted.Replace(o.Meaning)
		switch p := o.Value.Addr().Interface().(type) {
		case *float64:
			f.Float64VarP(p, o.Name, o.Letter, *p, usage)
		case *string:
			if other := o.Tag.Get("also"); other != "" {
				f.VarP(&once{p, false, o.Name, other}, o.Name, o.Letter, usage)
				also[other] = o.Name
				continue
			}
			f.StringVarP(p, o.Name, o.Letter, *p, usage)
		case *int:
			f.IntVarP(p, o.Name, o.Letter, *p, usage)
		case *bool:
			f.BoolVarP(p, o.Name, o.Letter, *p, usage)
		case *[]string:
			f.StringArrayVarP(p, o.Name, o.Letter, *p, usage)
		case **[2]float64:
			f.VarP(&point{p}, o.Name, o.Letter, usage)
		}
	}
}

// once is a text that has two names, of which one is to be given: who gives both may
// mean two things.
type once struct {
	at          *string
	given       bool
	name, other string
}

func (o *once) String() string {
	if o.at == nil {
		return ""
	}
	return *o.at
}

func (o *once) Type() string { return "string" }

func (o *once) Set(text string) error {
	if o.given && text != *o.at {
		return fmt.Errorf("and %s before it: --%s and --%s are one option", *o.at, o.name, o.other)
	}
	*o.at, o.given = text, true
	return nil
}

// checkPlot looks at the name of a picture.
func checkPlot(name string) error {
	if name != "" && plotFormat(name) != "svg" && plotFormat(name) != "png" {
		return usagef("", "--plot %s: wants a name that ends in .svg or .png", name)
	}
	return nil
}

// plotFormat is the format that a picture's name asks for.
func plotFormat(name string) string {
	return strings.ToLower(strings.TrimPrefix(filepath.Ext(name), "."))
}

// point is a place, X,Y.
type point struct{ at **[2]float64 }

func (p *point) String() string {
	if p.at == nil || *p.at == nil {
		return ""
	}
	return fmt.Sprintf("%g,%g", (*p.at)[0], (*p.at)[1])
}

func (p *point) Type() string { return "string" }

func (p *point) Set(text string) error {
	v, err := numbers(text)
	if err != nil {
		return err
	}
	if len(v) != 2 {
		return fmt.Errorf("wants X,Y, as in 10,20")
	}
	*p.at = &[2]float64{v[0], v[1]}
	return nil
}

// numbers reads numbers between commas.
func numbers(text string) ([]float64, error) {
	var out []float64
	for part := range strings.SplitSeq(text, ",") {
		part = strings.TrimSpace(part)
		v, err := strconv.ParseFloat(part, 64)
		if err != nil || math.IsNaN(v) || math.IsInf(v, 0) || strings.ContainsAny(part, "xX_") {
			return nil, fmt.Errorf("%q is not a number", part)
		}
		out = append(out, v)
	}
	return out, nil
}
