package about

import (
	"slices"
	"strings"
)

// programs are what names of programs mostly end in: common practice, no source.
var programs = []string{"gcode", "nc", "ngc", "gc", "tap", "cnc"}

// measured are what logs and sheets of touches mostly end in.
var measured = []string{"csv", "txt", "log"}

// Value is what may stand for an operand, or behind an option.
type Value struct {
	// Words are all there are, nil where any text may stand.
	Words []string
	// File reports whether it names a file, Dir whether it is a folder alone.
	File, Dir bool
	// Ends are what the file's name mostly ends in, without dots, nil where that is open.
	Ends []string
}

// FileOf is the value of an option that names a file: ends are those of its tag, with |
// between, where program stands for all that programs end in.
func FileOf(ends string) Value {
	v := Value{File: true}
	for end := range strings.SplitSeq(ends, "|") {
		switch end {
		case "":
		case "program":
			v.Ends = append(v.Ends, programs...)
		case "measured":
			v.Ends = append(v.Ends, measured...)
		default:
			v.Ends = append(v.Ends, end)
		}
	}
	return v
}

// Operands gives those of a line of usage in their order, such as PROGRAM in
// "follow PROGRAM -s SURFACE": the words in capitals that are no option's value. More
// reports whether the last may stand more than once.
func Operands(usage string) (list []Value, more bool) {
	usage = strings.ReplaceAll(usage, "...", " ...")
	after := false // an option that has a value
	for _, field := range strings.Fields(usage)[1:] {
		word := strings.Trim(field, "()[]")
		switch {
		case strings.HasPrefix(word, "-"):
			after = !strings.Contains(word, "=") && !strings.HasSuffix(field, "]") && !strings.HasSuffix(field, ")")
			continue
		case word == "...":
			more = more || !after && len(list) > 0 && !strings.HasSuffix(field, "]")
		case word != "" && word != "|" && !after && word != strings.ToLower(word):
			list = append(list, operand(word))
		}
		after = false
	}
	return list, more
}

// operand is one by its name in a line of usage, or one of several with | between.
func operand(name string) Value {
	names := strings.Split(name, "|")
	v := Value{File: true, Dir: !slices.ContainsFunc(names, func(n string) bool { return n != "DIR" })}
	for _, n := range names {
		_, end, _ := strings.Cut(n, ".")
		switch {
		case n == "PROGRAM":
			end = "program"
		case n == "MEASURED":
			end = "measured"
		}
		v.Ends = append(v.Ends, FileOf(end).Ends...)
	}
	return v
}
