package desk_test

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"reflect"
	"strings"
	"testing"

	"github.com/chromedp/chromedp"
	"github.com/chromedp/chromedp/kb"

	"sagitta/internal/browsertest"
	"sagitta/internal/cli"
	"sagitta/internal/demo"
	"sagitta/internal/desk/choice"
	"sagitta/internal/record"
)

// page is the page in a browser.
type page struct{ *browsertest.Browser }

// of works out an expression of the page.
func of[T any](p *page, expression string) T {
	p.Helper()
	return browsertest.Of[T](p.Browser, expression)
}

// holds waits until a part of the page says something.
func (p *page) holds(id, text string) {
	p.Helper()
	p.Until(fmt.Sprintf("document.getElementById(%q)?.innerText.includes(%q)", id, text))
}

// choose sets a field as a person does.
func (p *page) choose(id, value string) {
	p.Helper()
	p.Do(chromedp.SetValue("#"+id, value))
	of[bool](p, fmt.Sprintf("document.getElementById(%q).dispatchEvent(new Event('input', {bubbles: true}))", id))
}

// press presses what is there, wherever the page has moved it meanwhile.
func (p *page) press(selector string) {
	p.Helper()
	of[bool](p, fmt.Sprintf("(() => { const e = document.querySelector(%q); e.focus(); e.click(); e.select?.(); return true; })()", selector))
}

// open opens the page of a desk.
func (p *page) open(s *served) {
	p.Helper()
	p.Do(chromedp.Navigate(s.address))
	p.Until("document.body?.dataset.ready === 'true'")
	if at := of[string](p, "location.href"); strings.Contains(at, "token") {
		p.Errorf("the token stays in the address: %s", at)
	}
}

// leave leaves the page once it has all its answers, as the desk is closed then.
func (p *page) leave() {
	p.Helper()
	p.Until("!unsent && !sending && !Object.values(running).some(Boolean)")
	p.Do(chromedp.Navigate("about:blank"))
}

// TestInABrowser goes from an empty folder to programs that are proved.
func TestInABrowser(t *testing.T) {
	p := &page{browsertest.Start(t)}
	t.Run("dropped", p.dropped)
	t.Run("typed", p.typed)
	t.Run("inert", p.inert)
	t.Run("shared", p.shared)
	for _, m := range p.Said() {
		if !strings.Contains(m, "Failed to load resource: the server responded with a status of 4") { // what is asked about and refused
			t.Errorf("the console says: %s", m)
		}
	}
}

// proves has the tool prove what was written in the folder.
func proves(t *testing.T, args string) {
	t.Helper()
	var said strings.Builder
	if status := cli.Run(context.Background(), strings.Fields(args), &said, &said); status != 0 {
		t.Errorf("sagitta %s: status %d: %s", args, status, said.String())
	}
}

// dropped has files dropped, the advice taken, and the job followed and split.
func (p *page) dropped(t *testing.T) {
	p.T = t
	dir, from := t.TempDir(), t.TempDir()
	bringDemo(t, from)
	p.open(serve(t, dir))
	p.holds("files", "The folder is empty")
	p.holds("do-way", "no program is chosen")
	var files []string
	for _, name := range []string{demo.Chart.Name, demo.Surface.Name, demo.Lens.Name, demo.Bench.Name} {
		files = append(files, filepath.Join(from, name))
	}
	p.Do(chromedp.SetUploadFiles("#dropped", files))
	p.holds("said-program", "20800 burns")
	p.holds("do-advise", "Follow the surface, with lens short.")
	p.holds("do-way", "it holds")
	p.holds("cost", "greatest defocus")
	p.Until("document.querySelectorAll('#stock .contour').length > 3")
	// The same again is asked about.
	p.Do(chromedp.SetUploadFiles("#dropped", files[:1]))
	p.holds("ask-dropped", "chart.gcode is there already")
	p.press("#ask-dropped button:last-of-type")
	p.press("#write")
	p.holds("written", "Written and proved")
	p.holds("written", "sha256:")
	p.holds("sheet", "BENCH SHEET OF chart-followed.gcode")
	p.press("input[name=way][value=split]")
	p.holds("do-way", "7 times in all")
	p.press("#write")
	p.holds("written", "chart-zones/set.json")
	p.holds("sheet", "FOCUS ZONES OF chart.gcode")
	p.leave()
	proves(t, "verify chart-followed.gcode -s panel.csv -l lens.toml -m bench.toml --against chart.gcode")
	proves(t, "verify chart-zones --against chart.gcode")
}

// typed has the heights typed, with slips, and the page loaded again halfway.
func (p *page) typed(t *testing.T) {
	p.T = t
	dir := t.TempDir()
	bringDemo(t, dir)
	for _, name := range []string{demo.Surface.Name, demo.Lens.Name, demo.Bench.Name} {
		if err := os.Remove(filepath.Join(dir, name)); err != nil {
			t.Fatal(err)
		}
	}
	s := serve(t, dir)
	p.open(s)
	p.choose("program", "chart.gcode")
	p.press("input[name=heights-from][value=table]")
	p.press("#z-0-0")
	for _, h := range []string{"0,0", "0.3", "0.2", "x0.1", "0.4", "1,1"} {
		p.Do(chromedp.KeyEvent(h), chromedp.KeyEvent(kb.Enter))
	}
	p.holds("fault-table", "height at X300 Y0: “x0.1” is not a number")
	p.Until("document.getElementById('z-0-3').getAttribute('aria-invalid') === 'true'")
	p.choose("z-0-3", "0.1")
	p.holds("said-table", "6 of 12 heights are missing, the first at X200 Y100")
	p.Until("document.querySelector('#do-surface img')?.complete")
	// A block of a spreadsheet fills the rest.
	of[bool](p, `(() => {
		const d = new DataTransfer();
		d.setData("text", "1,0\t0,3\n0,5\t0,2");
		const e = document.getElementById("z-1-2");
		e.focus();
		return e.dispatchEvent(new ClipboardEvent("paste", { clipboardData: d, bubbles: true, cancelable: true }));
	})()`)
	p.holds("said-table", "2 of 12 heights are missing, the first at X0 Y200")
	p.choose("z-2-0", "0.1")
	p.press("#z-2-1")
	p.Do(chromedp.KeyEvent("0.5"), chromedp.KeyEvent(kb.ArrowUp))
	if at := of[string](p, "document.activeElement.id"); at != "z-1-1" {
		t.Errorf("the arrow leads to %s", at)
	}
	p.holds("said-table", "All 12 heights are typed")
	p.choose("table-error", "0.05")
	p.choose("sharp", "1,0")
	p.holds("do-way", "it holds")
	// What is typed is there when the page is loaded again.
	p.Do(chromedp.Navigate("http://" + s.host + "/"))
	p.Until("document.body?.dataset.ready === 'true'")
	if z, sharp := of[string](p, "document.getElementById('z-1-2').value"), of[string](p, "document.getElementById('sharp').value"); z != "1,0" || sharp != "1,0" {
		t.Errorf("after loading again a height is %q and sharp %q", z, sharp)
	}
	// It is not written before the heights are.
	p.press("#write")
	p.holds("fault-result-table", "not kept yet")
	if at := of[string](p, "document.activeElement.id"); at != "result-table" {
		t.Errorf("the fault is shown, and the focus is on %s", at)
	}
	p.press("#keep-table")
	p.holds("said-table", "kept as heights.csv")
	p.press("#write")
	p.holds("written", "Written and proved")
	p.press("input[name=way][value=split]")
	p.holds("do-way", "proved: every burn once, in focus")
	p.holds("do-way", "sagitta verify chart-zones")
	p.holds("cost", "greatest defocus")
	p.press("#write")
	p.holds("written", "chart-zones/set.json")
	p.fits()
	p.leave()
	proves(t, "verify chart-followed.gcode -s heights.csv --sharp 1.0 --against chart.gcode")
	proves(t, "verify chart-zones --against chart.gcode")
}

// shared has another page of the desk choose otherwise, and what is chosen not be kept: what
// the page does not show is not written.
func (p *page) shared(t *testing.T) {
	p.T = t
	dir := t.TempDir()
	bringDemo(t, dir)
	s := serve(t, dir)
	choose := func(way string) {
		s.choose(func(c *choice.Choices) {
			demoChosen(c)
			c.Way = way
		})
	}
	choose("follow")
	p.open(s)
	p.holds("do-way", "it holds")
	choose("split")
	p.press("#write")
	p.holds("fault-write", "another page of this desk has changed what is chosen")
	p.choose("option-datum", "25,25")
	p.holds("state", "another page of this desk has changed what is chosen")
	if way := of[string](p, "document.querySelector('input[name=way]:checked').value"); way != "follow" {
		t.Errorf("the page shows %s", way)
	}
	p.open(s)
	p.Until("document.body?.dataset.ready === 'true' && document.querySelector('input[name=way]:checked').value === 'split'")
	choose("follow")
	of[bool](p, "dispatchEvent(new Event('focus'))")
	p.Until("document.querySelector('input[name=way]:checked').value === 'follow'")
	p.holds("do-way", "sagitta follow")
	// What was chosen cannot be kept.
	if err := errors.Join(os.Remove(filepath.Join(dir, "desk.json")), os.Mkdir(filepath.Join(dir, "desk.json"), 0o777)); err != nil {
		t.Fatal(err)
	}
	p.press("input[name=way][value=split]")
	p.press("#write")
	p.holds("fault-write", "What is chosen here is not what the desk has: desk.json cannot be written")
	for _, name := range []string{"chart-followed.gcode", "chart-zones"} {
		if _, err := os.Stat(filepath.Join(dir, name)); err == nil {
			t.Errorf("%s is written", name)
		}
	}
	p.leave()
}

// inert has a bench be given its accelerations, from where its times are with inertia and what
// burns slower is told; the rest of its profile stays as it is.
func (p *page) inert(t *testing.T) {
	p.T = t
	dir := t.TempDir()
	for name, text := range map[string]string{
		"job.gcode":  "G21 G90\nM3 S500\nG0 X0 Y0\nG1 X100 F3000\nM5\n",
		"sheet.csv":  "# error_mm: 0\ny\\x, -5, 10, 20, 30, 40, 50, 60, 70, 80, 90, 105\n-5, 0, 0, 0.8, 0, 0.8, 0, 0.8, 0, 0.8, 0, 0\n5, 0, 0, 0.8, 0, 0.8, 0, 0.8, 0, 0.8, 0, 0\n",
		"bench.toml": "z_rate_mm_min = 900\nz_axis = \"W\"\nbeam_on = [\"M3\"]\npower_follows_speed = []\nhead_mm = [[4, 0], [30, 15]]\nx_mm = [0, 600]\ncomments = false\n",
	} {
		if err := os.WriteFile(filepath.Join(dir, name), []byte(text), 0o666); err != nil {
			t.Fatal(err)
		}
	}
	p.open(serve(t, dir))
	p.choose("program", "job.gcode")
	p.choose("heights-file", "sheet.csv")
	p.choose("sharp", "0.3")
	p.choose("machine", "bench.toml")
	p.holds("cost", "time it takes, by feeds alone")
	p.holds("cost", "as bench.toml has no accelerations")
	p.press("#cost button")
	p.Until("document.activeElement.id === 'machine-accel_mm_s2' && document.activeElement.checkVisibility()")
	p.choose("machine-accel_mm_s2", "125")
	p.choose("machine-z_accel_mm_s2", "5")
	p.press("button[data-record=machine]")
	p.holds("ask-machine", "bench.toml is there already")
	p.press("#ask-machine button:first-of-type")
	p.holds("cost", "time it takes, with the inertia of the axes")
	p.holds("cost", "greatest step of the speed of Z")
	p.Until("+/more than a tenth slower than as it is, %\\s+([\\d.]+)/.exec(document.getElementById('cost').innerText)[1] > 50")
	p.Until("+/darker, as the power does not follow the speed, %\\s+([\\d.]+)/.exec(document.getElementById('cost').innerText)[1] > 50")
	p.holds("cost", "% of its speed as it is")
	p.holds("do-way", "marks darker there")
	p.press("#do-way > p > button")
	p.Until("document.querySelector('#do-way img')?.complete")
	// The picture of a job by speed lost stands below those that there are without.
	p.Until("document.querySelector('#do-way img').naturalHeight > 1500")
	p.fits()
	p.leave()
	was, err := record.ReadMachine(strings.NewReader("z_rate_mm_min = 900\nz_axis = \"W\"\nbeam_on = [\"M3\"]\npower_follows_speed = []\nhead_mm = [[4, 0], [30, 15]]\nx_mm = [0, 600]\ncomments = false\naccel_mm_s2 = 125\nz_accel_mm_s2 = 5\n"), "bench.toml")
	if err != nil {
		t.Fatal(err)
	}
	text, err := os.ReadFile(filepath.Join(dir, "bench.toml"))
	if err != nil {
		t.Fatal(err)
	}
	if now, err := record.ReadMachine(bytes.NewReader(text), "bench.toml"); err != nil || !reflect.DeepEqual(was, now) {
		t.Errorf("the profile is\n%s\nwanted is %+v: %v", text, was, err)
	}
}

// fits wants the page to be read without scrolling sideways, at any width, with all of it
// open.
func (p *page) fits() {
	p.Helper()
	of[int](p, "document.querySelectorAll('details').forEach((d) => { d.open = true; }), 1")
	for _, width := range []int64{390, 820, 1400} {
		p.On(width, "dark")
		if shown := of[int64](p, "document.documentElement.scrollWidth"); shown > width {
			p.Errorf("%d px wide, it is %d px", width, shown)
		}
	}
	lacking := of[[]string](p, `[...document.querySelectorAll("input, select, textarea")].filter((e) => !e.labels?.length && !e.getAttribute("aria-label")).map((e) => e.id)`)
	if len(lacking) > 0 {
		p.Errorf("no label for %v", lacking)
	}
}
