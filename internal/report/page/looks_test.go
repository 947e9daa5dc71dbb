package page_test

import (
	"fmt"
	"strings"
	"time"

	"github.com/chromedp/cdproto/emulation"
	"github.com/chromedp/chromedp"

	"sagitta/internal/report/page"
)

// Nothing is wider than the screen, and all that is said stands out from what it stands on by
// 4.5 to 1, which WCAG 2.2 asks of texts (1.4.3; luminance as it defines it).
func widthAndContrast(b *browser, file string) {
	for _, width := range []int64{390, 820, 1400} {
		for _, scheme := range []string{"light", "dark"} {
			b.show(file, width, scheme)
			for _, open := range []bool{false, true} {
				script[bool](b, fmt.Sprintf("document.querySelectorAll('details').forEach((d) => d.open = %t) || true", open))
				b.settled()
				if wide := script[[]int](b, "[document.documentElement.scrollWidth, document.documentElement.clientWidth]"); wide[0] > wide[1] {
					b.Errorf("%d of %d px are wanted", wide[0], wide[1])
				}
			}
			for _, low := range script[[]string](b, contrasts) {
				b.Errorf("%d px, %s: %s", width, scheme, low)
			}
		}
	}
}

// contrasts gives the texts that do not stand out.
const contrasts = `(() => {
	const part = (c) => c <= 0.04045 ? c / 12.92 : Math.pow((c + 0.055) / 1.055, 2.4);
	const light = ([r, g, b]) => 0.2126 * part(r / 255) + 0.7152 * part(g / 255) + 0.0722 * part(b / 255);
	const read = (text) => { const n = text.match(/[\d.]+/g).map(Number); return n.length > 3 ? n : [...n, 1]; };
	const over = (c, under) => c.slice(0, 3).map((v, i) => v * c[3] + under[i] * (1 - c[3]));
	const behind = (e) => {
		if (!e) return [255, 255, 255];
		const c = read(getComputedStyle(e).backgroundColor);
		return c[3] >= 1 ? c.slice(0, 3) : over(c, behind(e.parentElement));
	};
	const low = new Set(), texts = document.createTreeWalker(document.body, NodeFilter.SHOW_TEXT);
	let seen = 0;
	for (let t = texts.nextNode(); t; t = texts.nextNode()) {
		const e = t.parentElement;
		if (!t.data.trim() || !e.checkVisibility() || ["SCRIPT", "STYLE", "TITLE", "DESC"].includes(e.tagName.toUpperCase())) continue;
		seen++;
		const style = getComputedStyle(e), paper = behind(e), ink = over(read(e instanceof SVGElement ? style.fill : style.color), paper);
		const [a, b] = [light(ink), light(paper)].sort((x, y) => y - x), ratio = (a + 0.05) / (b + 0.05);
		if (ratio < 4.5) low.add(ratio.toFixed(2) + " to 1: " + t.data.trim().slice(0, 40));
	}
	if (seen < 50) low.add("only " + seen + " texts were found");
	return [...low];
})()`

// The verdict is there in words, and its three looks differ by more than colours.
func verdicts(b *browser, j *job) {
	borders := map[string]bool{}
	for _, v := range []page.Verdict{
		{Holds: true, Text: "Every burn is in focus."},
		{Holds: true, Text: "Every burn is in focus; not checked: Z range.", Unchecked: []string{"Z range"}},
		{Text: "2 failures.", Failures: []string{"line 5: burn nearer than the depth allows, by 0.312 mm", "line 9: off"}, Count: 9, More: 7},
	} {
		p := j.page()
		p.Verdict = v
		if !v.Holds {
			p.Sheet, p.NoSheet = nil, "There is no bench sheet, as plate.gcode does not hold. Do not burn it so."
		}
		b.show(written(b.T, p), 390, "light")
		if got := script[string](b, "document.getElementById('verdict').dataset.verdict"); got != v.State() {
			b.Errorf("the verdict is %s, not %s", got, v.State())
		}
		if got := script[string](b, "document.getElementById('verdict').innerText"); !strings.HasSuffix(got, v.Text) || !strings.HasPrefix(got, v.Word()) {
			b.Errorf("the verdict says %q", got)
		}
		borders[script[string](b, "getComputedStyle(document.getElementById('verdict')).borderTopStyle")] = true
		said := v.Failures
		if v.More > 0 {
			said = append(said, fmt.Sprintf("and %d more", v.More))
		}
		for _, f := range said {
			if !script[bool](b, fmt.Sprintf("document.querySelector('.failures').innerText.includes(%q)", f)) {
				b.Errorf("%s is not said", f)
			}
		}
	}
	if len(borders) != 3 {
		b.Errorf("the looks differ by colours alone: %v", borders)
	}
}

// noScript shows the fixed picture of the path where scripts do not run.
func noScript(b *browser, file string) {
	set := func(off bool) {
		if _, err := chromedp.Call(b.Ctx, emulation.SetScriptExecutionDisabled, emulation.SetScriptExecutionDisabledParams{Value: off}); err != nil {
			b.Fatal(err)
		}
	}
	set(true)
	defer set(false)
	b.Do(chromedp.Navigate("file://" + file))
	time.Sleep(50 * time.Millisecond)
	set(false)
	if !script[bool](b, "document.querySelector('.fixed').checkVisibility() && !document.querySelector('.needs-script').checkVisibility()") {
		b.Error("without its script the page does not show the fixed picture")
	}
}
