package files

import (
	"io"
	"os"
	"time"

	"github.com/schollz/progressbar/v3"
	"golang.org/x/term"
)

// progressAfter is how long work goes on before its progress is shown.
const progressAfter = time.Second

// progress shows how far reading has come, on a terminal only. Messages are
// written through it, so that they do not stand in it.
type progress struct {
	stderr   io.Writer
	terminal bool
	bar      *progressbar.ProgressBar
}

func newProgress(stderr io.Writer) *progress {
	f, ok := stderr.(*os.File)
	return &progress{stderr: stderr, terminal: ok && term.IsTerminal(int(f.Fd()))}
}

// Write writes a message.
func (p *progress) Write(b []byte) (int, error) {
	p.clear()
	return p.stderr.Write(b)
}

// reader counts what is read through it.
func (p *progress) reader(r io.Reader, size int64) io.Reader {
	if !p.terminal {
		return r
	}
	return &counted{Reader: r, p: p, size: size, began: time.Now()}
}

// clear takes the bar off the screen.
func (p *progress) clear() {
	if p.bar != nil {
		_ = p.bar.Clear()
		p.bar = nil
	}
}

type counted struct {
	io.Reader
	p     *progress
	size  int64
	done  int64
	began time.Time
}

func (c *counted) Read(b []byte) (int, error) {
	n, err := c.Reader.Read(b)
	c.done += int64(n)
	if c.p.bar == nil && c.done < c.size && time.Since(c.began) > progressAfter {
		c.p.bar = progressbar.NewOptions64(c.size,
			progressbar.OptionSetWriter(c.p.stderr), progressbar.OptionShowBytes(true),
			progressbar.OptionClearOnFinish(), progressbar.OptionThrottle(100*time.Millisecond),
			progressbar.OptionSetTheme(progressbar.Theme{Saucer: "#", SaucerPadding: " ", BarStart: "|", BarEnd: "|"}))
	}
	if c.p.bar != nil {
		_ = c.p.bar.Set64(c.done)
	}
	return n, err
}
