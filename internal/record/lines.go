package record

import (
	"encoding/json"
	"errors"
	"fmt"
	"sort"
	"strings"
)

// LineSpans are spans of lines of a program, in order and apart, each from a first to a
// last line, both in. In a file, [40, 88] says one, and [[40, 88], [140, 188]] several.
type LineSpans [][2]int

// UnmarshalTOML reads one span or several.
func (l *LineSpans) UnmarshalTOML(v any) error { return l.of(v) }

// UnmarshalJSON reads them as they stand in a file.
func (l *LineSpans) UnmarshalJSON(text []byte) error {
	var v any
	if err := json.Unmarshal(text, &v); err != nil {
		return err
	}
	return l.of(v)
}

// MarshalJSON writes them so.
func (l LineSpans) MarshalJSON() ([]byte, error) {
	if len(l) == 1 {
		return json.Marshal(l[0])
	}
	return json.Marshal([][2]int(l))
}

// of takes what a decoder gives.
func (l *LineSpans) of(v any) error {
	wrong := errors.New("wants two whole numbers, as in [40, 88], or several such spans, as in [[40, 88], [140, 188]]")
	list, _ := v.([]any)
	if len(list) == 0 {
		return wrong
	}
	if _, several := list[0].([]any); !several {
		list = []any{list}
	}
	*l = make(LineSpans, len(list))
	for k := range list {
		span, _ := list[k].([]any)
		if len(span) != 2 {
			return wrong
		}
		for i, n := range span {
			switch n := n.(type) {
			case int64:
				(*l)[k][i] = int(n)
			case float64: // as JSON has it
				if (*l)[k][i] = int(n); float64((*l)[k][i]) != n {
					return wrong
				}
			default:
				return wrong
			}
		}
	}
	return nil
}

// check looks whether they are spans, in order and apart.
func (l LineSpans) check() error {
	after := 0
	for _, s := range l {
		if !(1 <= s[0] && s[0] <= s[1]) {
			return fmt.Errorf("wants a first line of 1 or more, then a last that is no less, as in [40, 88], not [%d, %d]", s[0], s[1])
		}
		if s[0] <= after {
			return fmt.Errorf("wants spans in order and apart, as in [[40, 88], [140, 188]]: [%d, %d] begins before line %d, with which the one before it ends", s[0], s[1], after+1)
		}
		after = s[1]
	}
	return nil
}

// Has reports whether a line is in one of them.
func (l LineSpans) Has(line int) bool {
	k := sort.Search(len(l), func(k int) bool { return l[k][1] >= line })
	return k < len(l) && l[k][0] <= line
}

// shownSpans is how many are named in a sentence.
const shownSpans = 3

// String names them, as in "lines 40 to 88 and 140 to 188".
func (l LineSpans) String() string {
	var list []string
	for _, s := range l[:min(len(l), shownSpans)] {
		text := fmt.Sprintf("%d to %d", s[0], s[1])
		if s[0] == s[1] {
			text = fmt.Sprint(s[0])
		}
		list = append(list, text)
	}
	word := "lines "
	if len(l) == 1 && l[0][0] == l[0][1] {
		word = "line "
	}
	if more := len(l) - len(list); more > 0 {
		return word + strings.Join(list, ", ") + fmt.Sprintf(" and so on, %d spans", len(l))
	}
	if n := len(list); n > 1 {
		return word + strings.Join(list[:n-1], ", ") + " and " + list[n-1]
	}
	return word + list[0]
}
