package report

import (
	"bytes"
	"fmt"
	"html"
	"image/color"
	"regexp"
	"strings"

	"sagitta/internal/phrase"
)

// What a picture draws in black is the ink of a page that it is put into, and white its
// paper. What lies on a light sheet whatever the page is, such as a map, is drawn in these,
// which nobody tells from black and white.
var (
	sheetInk   = color.NRGBA{1, 1, 1, 0xff}
	sheetPaper = color.NRGBA{0xfe, 0xfe, 0xfe, 0xff}
)

// Inline is the picture as an SVG element to be put into a page of HTML: as wide as there is
// room, without ids, in the page's --ink and --paper, with a title and a description for who
// does not see it. Its first frame is in attributes data-x0, -x1, -y0, -y1 and, in units of its
// viewBox, data-left, -right, -top and -bottom; data-foot is the bottom of its last frame.
func (p *Picture) Inline(title, description string) (string, error) {
	svg, frames, err := p.svg()
	if err != nil {
		return "", err
	}
	_, body, _ := bytes.Cut(svg, []byte(`xlink">`))
	var b strings.Builder
	text := func(s string) string { return html.EscapeString(phrase.Printable(s)) }
	fmt.Fprintf(&b, `<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 %.5g %.5g" role="img" aria-label="%s" style="width:100%%;height:auto;fill:%s;%s,Arial,sans-serif"`,
		p.width.Points(), p.height.Points(), text(title), inkOfPage, svgFont)
	if len(frames) > 0 {
		f, last := frames[0], frames[len(frames)-1]
		fmt.Fprintf(&b, ` data-x0="%.9g" data-x1="%.9g" data-y0="%.9g" data-y1="%.9g" data-left="%.6g" data-right="%.6g" data-top="%.6g" data-bottom="%.6g" data-foot="%.6g"`,
			f.X0, f.X1, f.Y0, f.Y1, f.Left, f.Right, f.Top, f.Bottom, last.Bottom)
	}
	fmt.Fprintf(&b, "><title>%s</title><desc>%s</desc>", text(title), text(description))
	body = bytes.ReplaceAll(body, []byte(`xlink:href="data:`), []byte(`href="data:`))
	b.Write(styles.ReplaceAllFunc(body, func(style []byte) []byte { return []byte(themed.Replace(string(style))) }))
	return b.String(), nil
}

const inkOfPage, paperOfPage = "var(--ink,#000)", "var(--paper,#fff)"

// styles finds the styles of elements: no text can hold one, for its quotes are escaped.
var styles = regexp.MustCompile(`style="[^"]*"`)

// themed gives a style the colours of the page, and takes out of it what the element around
// all says.
var themed = strings.NewReplacer(
	"#000000", inkOfPage, "#FFFFFF", paperOfPage,
	svgFont+",Arial,sans-serif;", "", "font-variant:normal;", "", "font-weight:normal;", "", "font-style:normal;", "",
)
