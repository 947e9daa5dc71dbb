package page_test

import (
	"bytes"
	"fmt"
	"math"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"

	"github.com/chromedp/chromedp"
	"github.com/chromedp/chromedp/kb"

	"sagitta/internal/browsertest"
	"sagitta/internal/report/page"
	"sagitta/internal/report/trace"
)

// browser is a browser with one page open, which is not to say anything on its console.
type browser struct{ *browsertest.Browser }

// script is what a script gives.
func script[T any](b *browser, text string) T {
	b.Helper()
	return browsertest.Of[T](b.Browser, text)
}

// quiet fails where the page has said something.
func (b *browser) quiet() {
	b.Helper()
	if said := b.Said(); len(said) > 0 {
		b.Fatalf("the page says: %s", said)
	}
}

// show opens a page that is this wide, in a scheme of colours.
func (b *browser) show(file string, width int64, scheme string) {
	b.Helper()
	b.On(width, scheme)
	b.Do(chromedp.Navigate("file://" + file))
	b.settled()
}

// settled waits until what is drawn is drawn.
func (b *browser) settled() {
	b.Helper()
	script[bool](b, "new Promise((done) => requestAnimationFrame(() => requestAnimationFrame(() => done(true))))")
}

// field is one of the read-out.
func (b *browser) field(key string) string {
	b.Helper()
	return script[string](b, fmt.Sprintf("document.querySelector('[data-field=%s]').textContent", key))
}

// point moves the pointer over the picture of the path, to a part of its width.
func (b *browser) point(part float64) {
	b.Helper()
	at := script[[]float64](b, "(() => { const e = document.getElementById('chart'); e.scrollIntoView({ block: 'center', behavior: 'instant' }); const r = e.getBoundingClientRect(); return [r.left, r.top, r.width, r.height]; })()")
	b.Do(chromedp.MouseEvent("mouseMoved", at[0]+50+part*(at[2]-64), at[1]+at[3]/2))
	b.settled()
}

// click clicks on an element, wherever it is.
func (b *browser) click(selector string) {
	b.Helper()
	script[bool](b, fmt.Sprintf("document.querySelector(%q).click() || true", selector))
	b.settled()
}

// written writes a page to a file.
func written(t *testing.T, p *page.Page) string {
	t.Helper()
	var out bytes.Buffer
	if err := p.Write(&out); err != nil {
		t.Fatal(err)
	}
	name := filepath.Join(t.TempDir(), "page.html")
	if err := os.WriteFile(name, out.Bytes(), 0o666); err != nil {
		t.Fatal(err)
	}
	return name
}

var (
	places  = regexp.MustCompile(`^X(-?[0-9.]+) Y(-?[0-9.]+)$`)
	numbers = regexp.MustCompile(`-?[0-9.]+`)
)

// All that a page does is tried in a browser, which is started once.
func TestPageInBrowser(t *testing.T) {
	b := &browser{browsertest.Start(t)}
	run := func(name string, test func(b *browser)) {
		t.Run(name, func(t *testing.T) {
			b.T = t
			test(b)
			b.quiet()
		})
	}
	j := drawn(t, 12, 1.34)
	file := written(t, j.page())
	run("read-out", func(b *browser) { readOut(b, j, file) })
	run("read-out by rules", func(b *browser) { readOutByRules(b, drawn(t, 12, 1.34)) })
	run("keys", func(b *browser) { keys(b, file) })
	run("switches", func(b *browser) { switches(b, file) })
	run("steps", func(b *browser) { steps(b, j, file) })
	run("above", func(b *browser) { above(b, file) })
	run("width and contrast", func(b *browser) { widthAndContrast(b, file) })
	run("verdicts", func(b *browser) { verdicts(b, j) })
	run("hostile", hostile)
	run("demo", demo)
	run("odd jobs", oddJobs)
	run("print", func(b *browser) { printed(b, file) })
	run("no script", func(b *browser) { noScript(b, file) })
}

// What is read off at the pointer is the height that the surface gives there.
func readOut(b *browser, j *job, file string) {
	b.show(file, 1200, "light")
	for _, part := range []float64{0.01, 0.13, 0.271, 0.4, 0.55, 0.678, 0.81, 0.99} {
		b.point(part)
		at := places.FindStringSubmatch(b.field("place"))
		if at == nil {
			b.Fatalf("the place is %q", b.field("place"))
		}
		var x, y, h float64
		fmt.Sscan(at[1], &x)
		fmt.Sscan(at[2], &y)
		fmt.Sscan(numbers.FindString(b.field("height")), &h)
		if want, _ := j.placed.At(x, y); math.Abs(h-want) > 0.0006 {
			b.Errorf("at %s the height is %s, not %g", at[0], b.field("height"), want)
		}
		// It is the place at which the path is then, within a pixel or two.
		time, off := part*j.trace.Seconds, math.Inf(1)
		for _, s := range j.trace.Stretches {
			if s.At <= time && time <= s.Until {
				k := (time - s.At) / (s.Until - s.At)
				off = math.Hypot(s.From[0]+k*(s.To[0]-s.From[0])-x, s.From[1]+k*(s.To[1]-s.From[1])-y)
			}
		}
		if off > 5 {
			b.Errorf("pointing at %g s reads off %s, %g mm from the path then", time, at[0], off)
		}
	}
}

// What is read off of a burn is the window that it asks for by its rule, and how much of that
// depth it spends: of a photo in rows with a text at a defocus of its own between them.
func readOutByRules(b *browser, j *job) {
	type asks struct{ near, far, wanted float64 }
	photo, text := asks{j.trace.Programs[0].Near, j.trace.Programs[0].Far, 0}, asks{0.5, 0.9, -0.4}
	of := func(line int) asks {
		if line/2%2 == 0 {
			return text
		}
		return photo
	}
	for i := range j.trace.Stretches {
		if s := &j.trace.Stretches[i]; s.Burns {
			a := of(s.Line)
			s.Near, s.Far, s.WantedMM = a.near, a.far, a.wanted
			s.C.Lo, s.C.Hi = s.C.Lo+a.wanted, s.C.Hi+a.wanted
		}
	}
	b.show(written(b.T, j.page()), 1200, "light")
	seen := map[asks]int{}
	for part := 0.02; part < 1; part += 0.04 {
		b.point(part)
		var line int
		var h, c, least, greatest, defocus, spent float64
		fmt.Sscanf(b.field("line"), "line %d", &line)
		if b.field("defocus") == "beam off" {
			if _, err := fmt.Sscanf(b.field("window"), "%g mm or more", &least); err != nil {
				b.Errorf("on a travel the window is %q", b.field("window"))
			}
			continue
		}
		a := of(line)
		seen[a]++
		for field, to := range map[string][]any{"height": {&h}, "c": {&c}, "window": {&least, &greatest}, "defocus": {&defocus, &spent}} {
			form := map[string]string{"height": "%g mm", "c": "%g mm", "window": "%g to %g mm", "defocus": "%g mm, %g %% of the depth"}[field]
			if _, err := fmt.Sscanf(b.field(field), form, to...); err != nil {
				b.Fatalf("line %d: %s is %q: %v", line, field, b.field(field), err)
			}
		}
		const read = 0.0011 // to which each is read off, twice
		best := h + a.wanted
		if math.Abs(least-(best-a.near)) > read || math.Abs(greatest-(best+a.far)) > read {
			b.Errorf("line %d, at %g high: the window is %g to %g, not that of %+v", line, h, least, greatest, a)
		}
		if math.Abs(defocus-(c-best)) > read || math.Abs(spent-100*max((best-c)/a.near, (c-best)/a.far)) > 1 {
			b.Errorf("line %d: c is %g and best %g, and the defocus %g, %g %% of the depth of %+v", line, c, best, defocus, spent, a)
		}
	}
	if seen[photo] < 5 || seen[text] < 5 {
		b.Errorf("read off: %v", seen)
	}
}

func keys(b *browser, file string) {
	b.show(file, 1200, "light")
	press := func(keys string) {
		b.Helper()
		b.Do(chromedp.KeyEvent(keys))
		b.settled()
	}
	b.Do(chromedp.Focus("#chart"))
	now := func() int { return script[int](b, "+document.getElementById('chart').getAttribute('aria-valuenow')") }
	last := script[int](b, "+document.getElementById('chart').getAttribute('aria-valuemax')")
	press(kb.End)
	if now() != last || last < 100 {
		b.Errorf("the last place is %d of %d", now(), last)
	}
	press(kb.Home)
	if now() != 0 {
		b.Errorf("the first place is %d", now())
	}
	press(kb.ArrowRight + kb.ArrowRight + kb.ArrowRight + kb.ArrowLeft)
	if now() != 2 {
		b.Errorf("two steps on is %d", now())
	}
	shown := func() string {
		return script[string](b, "document.querySelector('#chart .c:not(.travel)').getAttribute('d')")
	}
	whole := shown()
	for _, closer := range []string{"+", "+", "+"} {
		before := shown()
		press(closer)
		if shown() == before {
			b.Error("+ shows the same")
		}
	}
	press("-")
	press("0")
	if shown() != whole {
		b.Error("0 does not show the whole path")
	}
	for _, id := range []string{"closer", "closer", "further", "whole"} {
		before := shown()
		b.click("#" + id)
		if shown() == before {
			b.Errorf("the button %s does nothing", id)
		}
	}
	// The wheel comes closer to what is pointed at, which stays where it is; a drag moves
	// along.
	b.point(0.7)
	at := b.field("time")
	before := shown()
	script[bool](b, "document.getElementById('chart').dispatchEvent(new WheelEvent('wheel', { deltaY: -300, clientX: document.getElementById('chart').getBoundingClientRect().left + 50 + 0.7 * (document.getElementById('chart').clientWidth - 64), bubbles: true, cancelable: true }))")
	b.settled()
	if shown() == before {
		b.Error("the wheel does nothing")
	}
	b.point(0.69)
	b.point(0.7)
	if b.field("time") != at {
		b.Errorf("under the wheel %s has become %s", at, b.field("time"))
	}
	before = shown()
	box := script[[]float64](b, "(() => { const r = document.getElementById('chart').getBoundingClientRect(); return [r.left + r.width / 2, r.top + r.height / 2]; })()")
	b.Do(chromedp.MouseEvent("mousePressed", box[0], box[1], chromedp.ButtonLeft), chromedp.MouseEvent("mouseMoved", box[0]+120, box[1], chromedp.ButtonLeft), chromedp.MouseEvent("mouseReleased", box[0]+120, box[1], chromedp.ButtonLeft))
	b.settled()
	if shown() == before {
		b.Error("a drag does nothing")
	}
	b.click("#whole")
	// The line of the program that is asked for.
	script[bool](b, "(() => { const e = document.getElementById('to-line'); e.value = 11; e.dispatchEvent(new Event('change')); return true; })()")
	if !strings.HasPrefix(b.field("line"), "line 11 ") || !strings.HasSuffix(b.field("line"), " G1 X95 S400") {
		b.Errorf("line 11 is %q", b.field("line"))
	}
	// A worst place.
	wanted := script[float64](b, "(() => { const e = document.querySelectorAll('button[data-at]')[4]; e.click(); return +e.dataset.at; })()")
	b.settled()
	var seconds float64
	fmt.Sscan(b.field("time"), &seconds)
	if math.Abs(seconds-wanted) > 0.3 {
		b.Errorf("the place at %g s is read off at %s", wanted, b.field("time"))
	}
}

// steps looks at the speed of Z and its steps: as high as they are, beside what the bench can do,
// and the greatest is led to.
func steps(b *browser, j *job, file string) {
	b.show(file, 1200, "light")
	if got := script[string](b, "document.querySelector('.pace').innerText"); !strings.Contains(got, "with the inertia of the axes") || !strings.Contains(got, "of 0.4 mm/s that the bench takes at once") {
		b.Errorf("it says %q", got)
	}
	b.click("button.step")
	most, want := 0.0, &j.trace.ZStep
	fmt.Sscan(b.field("z-step"), &most)
	if at := fmt.Sprintf("X%.3f Y%.3f", want.At[0], want.At[1]); math.Abs(most-want.MMS) > 0.006*want.MMS || b.field("place") != at {
		b.Errorf("the greatest step of %v mm/s at %s is read off as %s at %s", want.MMS, at, b.field("z-step"), b.field("place"))
	}
	b.click("#whole")
	// In pixels: what is 0 and where the limit is give the scale.
	const drawn = `(() => {
		const of = (c) => document.querySelector("#chart path." + c).getAttribute("d").match(/-?[\d.]+/g).map(Number);
		const steps = document.querySelector("#chart path.step:not(.limit):not(.most)").getAttribute("d").split("M").slice(1).map((m) => m.match(/-?[\d.]+/g).map(Number));
		const high = steps.reduce((a, b) => b[2] < a[2] ? b : a);
		return [high[0], high[1], high[2], of("limit.step")[1], of("most.step")[0] + 5];
	})()`
	d := script[[]float64](b, drawn)
	if high := (d[1] - d[2]) / (d[1] - d[3]) * 0.4; math.Abs(high-want.MMS) > 0.02*want.MMS || math.Abs(d[0]-d[4]) > 0.2 {
		b.Errorf("the greatest step is drawn as %v mm/s at %v, and marked at %v: %v", high, d[0], d[4], d)
	}
	p := j.page()
	p.Trace = &trace.Trace{}
	*p.Trace = *j.trace
	p.Trace.Inertia, p.Trace.ZStep = false, trace.ZStep{}
	b.show(written(b.T, p), 1200, "light")
	if got := script[string](b, "document.querySelector('.pace').innerText + document.querySelector('#path figcaption').innerText"); !strings.Contains(got, "by feeds alone") || strings.Contains(got, "inertia") || strings.Contains(got, "steps") {
		b.Errorf("by feeds alone it says %q", got)
	}
}

func switches(b *browser, file string) {
	b.show(file, 1200, "light")
	labels := func() string { return script[string](b, "document.querySelector('#chart svg').textContent") }
	if !strings.Contains(labels(), "time from the beginning") {
		b.Errorf("the picture says %q", labels())
	}
	b.click("input[name=along][value=line]")
	b.settled()
	if !strings.Contains(labels(), "line of the program") {
		b.Errorf("by lines it says %q", labels())
	}
	b.point(0.5)
	var line int
	fmt.Sscanf(b.field("line"), "line %d", &line)
	if line < 14 || line > 17 { // 4 to 27 are lines with motion
		b.Errorf("in the middle of lines 4 to 27 is %q", b.field("line"))
	}
	visible := func(id string) bool {
		return script[bool](b, fmt.Sprintf("document.getElementById(%q).checkVisibility()", id))
	}
	for k, id := range []string{"by-defocus", "by-zone", "by-z"} {
		b.click(fmt.Sprintf("#view-%d", k))
		for _, other := range []string{"by-defocus", "by-zone", "by-z"} {
			if visible(other) != (other == id) {
				b.Errorf("%s is visible: %t, when %s is chosen", other, visible(other), id)
			}
		}
	}
}

// The place is marked from above, and a click there leads to the path.
func above(b *browser, file string) {
	b.show(file, 1200, "light")
	at := script[[]float64](b, "(() => { const e = document.querySelector('#by-defocus svg'); e.scrollIntoView({ block: 'center', behavior: 'instant' }); const r = e.getBoundingClientRect(); return [r.left, r.top, r.width / 220]; })()")
	x, y := at[0]+at[2]*(10+2*55), at[1]+at[2]*(130-2*32.3) // X55 Y32.3, near the row at Y32.273
	b.Do(chromedp.MouseClickXY(x, y))
	b.settled()
	if got := b.field("place"); !strings.HasPrefix(got, "X55.0") && !strings.HasPrefix(got, "X54.9") || !strings.HasSuffix(got, "Y32.273") {
		b.Errorf("a click at X55 Y32.3 leads to %s", got)
	}
	mark := script[string](b, "document.querySelector('#by-defocus .place-marker').getAttribute('transform')")
	if !regexp.MustCompile(`^translate\((119|120)\.\d+ 65\.45\)$`).MatchString(mark) {
		b.Errorf("the place is marked at %s", mark)
	}
}
