package choice

import (
	"fmt"
	"reflect"
	"slices"
	"strings"

	"sagitta/internal/option"
)

// As is what a word of a command line stands for.
type As uint8

const (
	Plain  As = iota
	Reads     // a file that is read
	Zones     // a folder of a divided job that is read
	Typed     // the file of the heights that are typed
	Writes    // a file that is written
	Folder    // a folder that is written
	Made      // a result of a command before, file or folder
	Switch    // an option and its value in one word
)

// Word is one of a command line.
type Word struct {
	Text string
	As   As
}

// Command is a command line of the tool, without the tool's name.
type Command []Word

// Words gives its texts, those of some kinds being put as in says.
func (c Command) Words(in func(Word) string) []string {
	out := make([]string, len(c))
	for i, w := range c {
		out[i] = in(w)
	}
	return out
}

// Files are its words of some kinds.
func (c Command) Files(as ...As) (list []string) {
	for _, w := range c {
		if slices.Contains(as, w.As) {
			list = append(list, w.Text)
		}
	}
	return list
}

func (c *Command) plain(words ...string) {
	for _, w := range words {
		*c = append(*c, Word{Text: w})
	}
}

// with adds an option that names a file, where there is one.
func (c *Command) with(option, name string, as As) {
	if name != "" {
		c.plain(option)
		*c = append(*c, Word{name, as})
	}
}

// give adds an option with its value.
func (c *Command) give(name, value string) {
	if strings.HasPrefix(value, "-") {
		*c = append(*c, Word{"--" + name + "=" + value, Switch})
		return
	}
	c.plain("--"+name, value)
}

// Lack is what is missing or wrong, said in a sentence, and the field of the page that it
// is about.
type Lack struct {
	Field string `json:"field"`
	Text  string `json:"text"`
}

// Known gives the options of a command as package option reads them, fresh each time.
type Known func(command string) []option.Option

// set checks a value of an option as it is typed, and gives it as it is written in a
// command line; "" where it is not to be there.
func set(known []option.Option, name, text string) (value string, err error) {
	text = strings.TrimSpace(text)
	i := slices.IndexFunc(known, func(o option.Option) bool { return o.Name == name })
	if i < 0 || text == "" {
		return "", nil
	}
	o := known[i]
	switch o.Value.Kind() {
	case reflect.Bool:
		if text != "true" {
			return "", fmt.Errorf("wants true, or nothing")
		}
		return text, nil
	case reflect.Float64:
		n, err := Number(text)
		if err != nil {
			return "", err
		}
		if v := number(n); o.In != "" && !option.Within(v, o.In) {
			return "", fmt.Errorf("%s: wants %s", text, o.Tag.Get("wants"))
		}
		return n, nil
	case reflect.Pointer: // a place
		return Pair(text)
	}
	if words := strings.Split(o.In, "|"); o.In != "" && !slices.Contains(words, text) {
		return "", fmt.Errorf("%q: wants one of %s", text, strings.Join(words, ", "))
	}
	return text, nil
}

// number is that of a text that Number has let pass.
func number(text string) (v float64) {
	_, _ = fmt.Sscan(text, &v)
	return v
}

// Pair reads X,Y, and writes it so.
func Pair(text string) (string, error) {
	out, err := Numbers(text)
	if err != nil {
		return "", err
	}
	if len(out) != 2 {
		return "", fmt.Errorf("%q: wants two numbers, as in 10,20", text)
	}
	return out[0] + "," + out[1], nil
}

// Numbers reads several numbers with commas between; or with spaces or semicolons, where
// commas may be decimal.
func Numbers(text string) (out []string, err error) {
	parts := strings.FieldsFunc(text, func(r rune) bool { return r == ';' || r == ' ' || r == '\t' })
	if len(parts) == 1 {
		parts = strings.Split(text, ",")
	}
	for k, p := range parts {
		if k < len(parts)-1 {
			p = strings.TrimSuffix(p, ",") // as in "10, 20"
		}
		n, err := Number(p)
		if err != nil {
			return nil, err
		}
		out = append(out, n)
	}
	return out, nil
}
