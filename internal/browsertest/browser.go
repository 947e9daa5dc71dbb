// Package browsertest drives a browser in tests, which are skipped where there is none.
package browsertest

import (
	"context"
	"os/exec"
	"sync"
	"testing"
	"time"

	"github.com/chromedp/cdproto/emulation"
	"github.com/chromedp/chromedp"
)

// Browser is a browser with one page open.
type Browser struct {
	*testing.T // that which is under way
	// Ctx is that of the page, without a time limit.
	Ctx context.Context

	lock sync.Mutex
	said []string // on the console
}

// Patience is how long anything may take on a busy computer until the browser counts as
// stuck.
const Patience = time.Minute

// Start starts the browser, which ends with the test.
func Start(t *testing.T) *Browser {
	t.Helper()
	path, err := exec.LookPath("chromium")
	if err != nil {
		t.Skip("pages are not looked at in a browser: there is none called chromium (Debian's package of that name)")
	}
	options := append(chromedp.DefaultExecAllocatorOptions[:], chromedp.ExecPath(path), chromedp.NoSandbox, chromedp.DisableGPU, chromedp.NoFirstRun)
	for _, flag := range []string{"disable-quic", "disable-background-networking", "disable-component-update", "disable-sync"} {
		options = append(options, chromedp.Flag(flag, true))
	}
	ctx, stop := chromedp.NewExecAllocator(context.Background(), options...)
	t.Cleanup(stop)
	ctx, end := chromedp.NewContext(ctx)
	t.Cleanup(end)
	b := &Browser{T: t, Ctx: ctx}
	if err := chromedp.Do(ctx, chromedp.Navigate("about:blank")); err != nil { // without a time limit, which would be the browser's
		t.Fatal(err)
	}
	messages := chromedp.Console(ctx)
	go func() {
		for m, err := range messages {
			if err != nil {
				return
			}
			b.lock.Lock()
			b.said = append(b.said, m.String())
			b.lock.Unlock()
		}
	}()
	return b
}

// Said is what pages have said on the console.
func (b *Browser) Said() []string {
	b.lock.Lock()
	defer b.lock.Unlock()
	return b.said[:len(b.said):len(b.said)]
}

// Do does steps.
func (b *Browser) Do(steps ...chromedp.Action[chromedp.Void]) {
	b.Helper()
	ctx, stop := context.WithTimeout(b.Ctx, Patience)
	defer stop()
	if err := chromedp.Do(ctx, steps...); err != nil {
		b.Fatal(err)
	}
}

// Of is what a script gives, or what it promises.
func Of[T any](b *Browser, script string) T {
	b.Helper()
	ctx, stop := context.WithTimeout(b.Ctx, Patience)
	defer stop()
	v, err := chromedp.Run(ctx, chromedp.Evaluate[T](script, chromedp.EvalAwaitPromise))
	if err != nil {
		b.Fatalf("%s: %v", script, err)
	}
	return v
}

// Until waits for something to be so on the page.
func (b *Browser) Until(expression string) {
	b.Helper()
	for end := time.Now().Add(Patience); ; time.Sleep(30 * time.Millisecond) {
		if ok, err := chromedp.Run(b.Ctx, chromedp.Evaluate[bool](expression)); err == nil && ok {
			return
		} else if time.Now().After(end) {
			b.Fatalf("it does not come to be: %s (%v)\n%s", expression, err, Of[string](b, "document.body.innerText"))
		}
	}
}

// On has pages be so wide, in a scheme of colours.
func (b *Browser) On(width int64, scheme string) {
	b.Helper()
	if _, err := chromedp.Call(b.Ctx, emulation.SetDeviceMetricsOverride, emulation.SetDeviceMetricsOverrideParams{Width: width, Height: 900, DeviceScaleFactor: 1, Mobile: width < 500}); err != nil {
		b.Fatal(err)
	}
	if _, err := chromedp.Call(b.Ctx, emulation.SetEmulatedMedia, emulation.SetEmulatedMediaParams{Features: []*emulation.MediaFeature{{Name: "prefers-color-scheme", Value: scheme}}}); err != nil {
		b.Fatal(err)
	}
}
