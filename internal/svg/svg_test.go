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

func TestParagraphIsBroken(t *testing.T) {
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
		canvas := &Canvas{}
		end := canvas.Paragraph(0, 5, c.width+1e-9, 1, "#000", c.s)
		var page struct {
			Text []string `xml:"text"`
		}
		if err := xml.Unmarshal(canvas.Page(10, 20), &page); err != nil {
			t.Fatal(err)
		}
		if want := 5 + leading*float64(len(c.want)); !slices.Equal(page.Text, c.want) || end < want-1e-9 || end > want+1e-9 {
			t.Errorf("%q in %g: %q down to %g", c.s, c.width, page.Text, end)
		}
	}
}
