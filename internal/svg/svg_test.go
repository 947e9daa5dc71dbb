package svg

import (
	"encoding/xml"
	"slices"
	"strings"
	"testing"
)

func TestTextIsEscaped(t *testing.T) {
	c := &Canvas{}
	const text = `a <b> & "c"` + "\x01"
	c.Text(1.00049, -0.0001, 3, "#000", Bold, text)
	var page struct {
		Text struct {
			Body string `xml:",chardata"`
			X    string `xml:"x,attr"`
			Y    string `xml:"y,attr"`
		} `xml:"text"`
	}
	if err := xml.Unmarshal(c.Page(10, 20), &page); err != nil {
		t.Fatal(err)
	}
	if want := strings.ReplaceAll(text, "\x01", "\uFFFD"); page.Text.Body != want || page.Text.X != "1" || page.Text.Y != "0" {
		t.Errorf("%+v, want %q", page.Text, want)
	}
}

func TestLines(t *testing.T) {
	for _, c := range []struct {
		s     string
		width float64
		want  []string
	}{
		{"", 9, []string{""}},
		{"one two three", 8 * CharWidth, []string{"one two", "three"}},
		{"µµµ µµµµ", 8 * CharWidth, []string{"µµµ µµµµ"}}, // characters, not bytes
		{"longer than that", 1, []string{"longer", "than", "that"}},
	} {
		if got := Lines(c.s, c.width+1e-9, 1); !slices.Equal(got, c.want) {
			t.Errorf("%q in %g: %q", c.s, c.width, got)
		}
	}
}
