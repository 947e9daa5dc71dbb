package page_test

import (
	"bytes"
	"encoding/json"
	"fmt"
	"html"
	"io"
	"os"
	"path/filepath"
	"reflect"
	"regexp"
	"strings"

	"github.com/chromedp/cdproto/emulation"
	"github.com/chromedp/chromedp"

	"sagitta/internal/cli"
	"sagitta/internal/report/page"
)

// pageObjects are the pages of a PDF as the browser writes it (ISO 32000-1, 7.7.3.3).
var pageObjects = regexp.MustCompile(`/Type\s*/Page\b[^s]`)

// pdf prints pages of what is shown on A4, "" for all, and counts them.
func (b *browser) pdf(pages string) int {
	b.Helper()
	out, err := chromedp.Run(b.Ctx, chromedp.PrintToPDF(chromedp.PDFPreferCSSPageSize(), chromedp.PDFPrintBackground(), chromedp.PDFPageRanges(pages)))
	if err != nil {
		b.Fatal(err)
	}
	if !bytes.Contains(out, []byte("/MediaBox [0 0 594.95996 841.91998]")) && !regexp.MustCompile(`/MediaBox\s*\[0 0 59[45](\.\d+)? 84[12](\.\d+)?\]`).Match(out) {
		b.Error("it is not printed on A4")
	}
	return len(pageObjects.FindAll(out, -1))
}

// printed prints the sheet first, on a page of its own.
func printed(b *browser, file string) {
	b.show(file, 1000, "light")
	if n := b.pdf(""); n < 2 || n > 3 {
		b.Errorf("it prints on %d pages", n)
	}
	b.sheetFirst()
}

// sheetFirst wants the sheet to be what is printed first, whole and alone on its page.
func (b *browser) sheetFirst() {
	b.Helper()
	media := func(name string) {
		b.Helper()
		if _, err := chromedp.Call(b.Ctx, emulation.SetEmulatedMedia, emulation.SetEmulatedMediaParams{Media: name}); err != nil {
			b.Fatal(err)
		}
	}
	media("print")
	defer media("")
	// 180 by 271 mm are within the margins, a mm being 96/25.4 px (CSS Values 4, 5.2).
	const within = `(() => {
		const first = [...document.body.children].find((e) => e.checkVisibility()), sheet = first.querySelector("pre.sheet"), r = sheet.getBoundingClientRect();
		const text = document.createRange();
		text.selectNodeContents(sheet);
		return [getComputedStyle(first).breakAfter, sheet.innerText.trim().split("\n")[0], Math.round(text.getBoundingClientRect().width / 96 * 25.4), Math.round(r.height / 96 * 25.4)].map(String);
	})()`
	got := script[[]string](b, within)
	var wide, high int
	fmt.Sscan(got[2], &wide)
	fmt.Sscan(got[3], &high)
	if got[0] != "page" || !strings.HasPrefix(got[1], "BENCH SHEET OF ") || wide > 180 || high > 271 || wide < 60 {
		b.Errorf("printed first: break %s, %q, %s by %s mm", got[0], got[1], got[2], got[3])
	}
}

// sagitta runs the command line, which is to end with a status.
func (b *browser) sagitta(status int, args ...string) {
	b.Helper()
	var said bytes.Buffer
	if got := cli.Main(args, strings.NewReader(""), io.Discard, &said); got != status {
		b.Fatalf("sagitta %v: status %d: %s", args, got, said.String())
	}
}

// hostileName is a name for a file that would run as script if it could.
const hostileName = `"><script>window.ran=1<!--.gcode`

// oddJobs have names and remarks that would run as script if they could, little to show,
// or several programs: their pages say nothing on the console either, run nothing, and are
// no wider than a telephone.
func oddJobs(b *browser) {
	b.Chdir(b.TempDir())
	for name, text := range map[string]string{
		"bow.csv":    "# error_mm: 0.02\n# datum: 5,6\ny\\x, 0, 50, 100\n0, 0, 1, 0\n50, 0, 1, 0\n100, 0, 1, 0\n",
		"none.gcode": "G21 G90\nM5\nG0 X1 Y1\nM2\n",
		"inch.gcode": "G20 G90\nM5\nG0 X1 Y1\nM3 S500\nG1 X3 F40\nG2 X3 Y2 I0 J0.5\nM0 (see </script> here)\nM5\nM2\n",
		hostileName:  "G21 G90\nM5\nG0 X12 Y12 ; </script><script>window.ran=2</script>\nM3 S500\nG1 X88 F3000 ; <img src=x onerror=window.ran=3>\nM5\nM0 ; <svg onload=window.ran=4>\nM2\n",
		"evil.toml":  "name = \"</script><img src=x onerror=window.ran=5>\"\ndepth_mm = [-1.5, 1.5]\ntested_on = \"</td><script>window.ran=6</script>\"\n",
		"zone.gcode": "G21 G90\nM5\nG0 X12 Y12\nM4 S500\nG1 X88 F3000\nM5\nM2\n",
	} {
		if err := os.WriteFile(name, []byte(text), 0o666); err != nil {
			b.Fatal(err)
		}
	}
	b.sagitta(0, "split", "zone.gcode", "-s", "bow.csv", "--sharp", "0.4", "-o", "zones")
	for _, c := range []struct {
		name   string
		status int
	}{{"none.gcode", 1}, {"inch.gcode", 0}, {"zones", 0}, {hostileName, 0}} {
		args := []string{"report", c.name, "-o", "page.html"}
		switch c.name {
		case "zones":
		case hostileName:
			args = append(args, "-s", "bow.csv", "-l", "evil.toml")
		default:
			args = append(args, "-s", "bow.csv", "--sharp", "1.5")
		}
		b.sagitta(c.status, args...)
		page, err := filepath.Abs("page.html")
		if err != nil {
			b.Fatal(err)
		}
		b.show(page, 390, "light")
		b.quiet()
		if wide := script[[]int](b, "[document.documentElement.scrollWidth, document.documentElement.clientWidth]"); wide[0] > wide[1] {
			b.Errorf("%s: %d of %d px are wanted", c.name, wide[0], wide[1])
		}
		if script[bool](b, "'ran' in window || document.scripts.length != 3") {
			b.Errorf("%s: what is no script of the page runs", c.name)
		}
	}
}

// figuresOf are those in a text, but for the names of what a command writes.
func figuresOf(b *browser, text []byte) (figures map[string]any) {
	if err := json.Unmarshal(text, &figures); err != nil {
		b.Fatalf("%v in %s", err, text)
	}
	options, is := figures["options"].(map[string]any)
	if !is {
		b.Fatalf("no options in %s", text)
	}
	for _, name := range []string{"summary", "plot"} {
		delete(options, name)
	}
	return figures
}

// demo makes the page of the demo by the command line, as a user does: it says nothing,
// has its verdict, and prints on three pages.
func demo(b *browser) {
	dir := b.TempDir()
	b.Chdir(dir)
	b.sagitta(0, "demo", "-o", ".")
	b.sagitta(0, "report", "chart-followed.gcode", "-s", "panel.csv", "-l", "lens.toml", "-m", "bench.toml", "--against", "chart.gcode", "-o", "chart.html")
	b.sagitta(0, "verify", "chart-followed.gcode", "-s", "panel.csv", "-l", "lens.toml", "-m", "bench.toml", "--against", "chart.gcode", "--summary", "sum.json")
	b.show(filepath.Join(dir, "chart.html"), 390, "dark")
	if wide := script[[]int](b, "[document.documentElement.scrollWidth, document.documentElement.clientWidth]"); wide[0] > wide[1] {
		b.Errorf("%d of %d px are wanted", wide[0], wide[1])
	}
	if got := script[string](b, "document.getElementById('verdict').dataset.verdict"); got != "holds" {
		b.Errorf("the verdict is %s", got)
	}
	sum, err := os.ReadFile("sum.json")
	if err != nil {
		b.Fatal(err)
	}
	got, want := figuresOf(b, []byte(script[string](b, "document.getElementById('figures').textContent"))), figuresOf(b, sum)
	if !reflect.DeepEqual(got, want) {
		b.Errorf("the figures in the page are not those of verify: %v, not %v", got, want)
	}
	b.On(1200, "light")
	if n := b.pdf(""); n < 2 || n > 3 {
		b.Errorf("it prints on %d pages", n)
	}
	b.sheetFirst()
}

// hostile has texts that would run as script if they could, wherever a page has texts.
func hostile(b *browser) {
	texts := []string{
		`</script><script>window.ran=1</script>`, `"><img src=x onerror="window.ran=1">`, `' onmouseover='window.ran=1`, `--><svg onload=window.ran=1>`,
		"]]>\u2028window.ran=1;\u2029//", "<!--<script>window.ran=1//", "javascript:window.ran=1", "`${window.ran=1}`", "</style><body onload=window.ran=1>", "\u202egnp.exe\x00\x1b[31m",
	}
	for _, text := range []string{strings.Join(texts, " "), strings.Join(texts[3:], "\""), texts[0], texts[1]} {
		j := drawn(b, 3, 1.3)
		j.trace.Programs[0].Name, j.trace.Programs[0].Lens = text, text
		for i := range j.trace.Stretches {
			j.trace.Stretches[i].Text = text
		}
		for i := range j.trace.Worst {
			j.trace.Worst[i].Text = text
		}
		j.trace.Waits[0].Remark = text
		j.trace.Programs = append(j.trace.Programs, j.trace.Programs[0])
		p := j.page()
		p.Job, p.NoSheet, p.Caution, p.Command, p.Maker = text, text, text, text, text
		p.Verdict = page.Verdict{Text: text, Failures: []string{text}, Hints: []string{text}, Unchecked: []string{text}, Count: 1}
		p.Setting, p.Known, p.Sheet, p.Assumed, p.Notes = []string{text}, []string{text}, []string{text}, []string{text}, []string{text}
		p.Files, p.Options = [][2]string{{text, text}}, [][2]string{{text, text}}
		for _, at := range []*page.Picture{&p.Above[0], p.Path} {
			at.Title, at.Switch, at.Alt, at.Table = text, text, text, page.Table{Head: []string{text}, Rows: [][]string{{text}}, More: text}
		}
		b.show(written(b.T, p), 800, "light")
		script[bool](b, "document.querySelectorAll('button').forEach((e) => e.click()) || document.querySelectorAll('*').forEach((e) => e.dispatchEvent(new Event('mouseover'))) || true")
		b.settled()
		if script[bool](b, "'ran' in window") {
			b.Errorf("it runs: %s", text)
		}
		if scripts := script[int](b, "document.scripts.length"); scripts != 3 {
			b.Errorf("%d scripts with %s", scripts, html.EscapeString(text))
		}
		if len(text) < 60 && !script[bool](b, fmt.Sprintf("document.querySelector('.failures li').textContent === %q", text)) {
			b.Errorf("it does not say %q", text)
		}
	}
	// What a picture would run is kept from it as well, by the page's policy.
	p := drawn(b, 3, 1.3).page()
	p.Above[0].Wide = `<svg viewBox="0 0 1 1" onclick="window.ran=1"></svg>`
	p.Above = p.Above[:1]
	var out bytes.Buffer
	if err := p.Write(&out); err != nil {
		b.Fatal(err)
	}
	if policy := `script-src &#39;sha256-`; !strings.Contains(out.String(), policy) && !strings.Contains(out.String(), "script-src 'sha256-") {
		b.Error("the page lets any script run")
	}
}
