package desk

import (
	"bytes"
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"sync"
	"time"

	"sagitta/internal/desk/choice"
	"sagitta/internal/desk/folder"
	"sagitta/internal/option"
)

// Run is what came of a command line.
type Run struct {
	Command  string          `json:"command"` // as it is typed
	Status   int             `json:"status"`
	Messages []Message       `json:"messages"`
	Said     string          `json:"said,omitempty"`    // on standard output
	Figures  json.RawMessage `json:"figures,omitempty"` // of --summary
	Picture  string          `json:"picture,omitempty"` // of --plot, an SVG, where it was asked for
	Draws    bool            `json:"draws,omitempty"`   // the command draws, where that is asked for
	Seconds  float64         `json:"seconds"`
}

// runner runs commands: what is tried in a folder of its own, what is written one at a time.
type runner struct {
	tool   Tool
	folder *folder.Folder
	temp   string
	// life lasts until what is being written is given up as well.
	life context.Context
	stop context.CancelFunc
	// writing is held while results go to the folder, and read-held by what is tried.
	writing sync.RWMutex
	mu      sync.Mutex
	tries   map[string]*try // the latest of each step
}

type try struct{ cancel context.CancelFunc }

func newRunner(tool Tool, f *folder.Folder) (*runner, error) {
	temp, err := os.MkdirTemp("", "sagitta-desk-")
	if err != nil {
		return nil, err
	}
	r := &runner{tool: tool, folder: f, temp: temp, tries: map[string]*try{}}
	r.life, r.stop = context.WithCancel(context.Background())
	return r, nil
}

func (r *runner) close() {
	r.forget()
	r.stop()
	_ = os.RemoveAll(r.temp)
}

// forget ends all that is only tried.
func (r *runner) forget() {
	r.mu.Lock()
	defer r.mu.Unlock()
	for _, t := range r.tries {
		t.cancel()
	}
}

// latest ends the try of the step that is under way, and begins another.
func (r *runner) latest(ctx context.Context, step string) (context.Context, func()) {
	ctx, cancel := context.WithCancel(ctx)
	t := &try{cancel}
	r.mu.Lock()
	defer r.mu.Unlock()
	if before := r.tries[step]; before != nil {
		before.cancel()
	}
	r.tries[step] = t
	return ctx, func() {
		cancel()
		r.mu.Lock()
		defer r.mu.Unlock()
		if r.tries[step] == t {
			delete(r.tries, step)
		}
	}
}

// errOvertaken is that a newer try of the step has begun.
var errOvertaken = errors.New("a newer one has begun")

// try runs a step with its results in a folder that goes again. The commands go on as
// long as they hold. Results are what look made of them there; draw has them drawn, where
// the commands draw.
func (r *runner) try(ctx context.Context, step string, s choice.Step, table []byte, draw bool, look func(dir string)) ([]Run, error) {
	if draw {
		step += " drawn"
	}
	ctx, done := r.latest(ctx, step)
	defer done()
	r.writing.RLock()
	defer r.writing.RUnlock()
	dir, err := os.MkdirTemp(r.temp, "try-")
	if err != nil {
		return nil, err
	}
	defer os.RemoveAll(dir)
	if err := os.WriteFile(filepath.Join(dir, typedFile), table, 0o600); err != nil {
		return nil, err
	}
	in := func(w choice.Word) string {
		switch w.As {
		case choice.Typed:
			return filepath.Join(dir, typedFile)
		case choice.Writes, choice.Folder, choice.Made:
			return filepath.Join(dir, outs, w.Text)
		}
		return w.Text
	}
	if err := os.Mkdir(filepath.Join(dir, outs), 0o700); err != nil {
		return nil, err
	}
	runs, err := r.all(ctx, s, dir, draw, in)
	if err == nil && look != nil {
		look(filepath.Join(dir, outs))
	}
	return runs, err
}

// What a folder of a try has.
const (
	typedFile = "typed-heights.csv"
	outs      = "results"
)

// write runs a step in the folder itself.
func (r *runner) write(s choice.Step) ([]Run, error) {
	r.forget()
	r.writing.Lock()
	defer r.writing.Unlock()
	dir, err := os.MkdirTemp(r.temp, "write-")
	if err != nil {
		return nil, err
	}
	defer os.RemoveAll(dir)
	return r.all(r.life, s, dir, false, func(w choice.Word) string { return w.Text })
}

// all runs the commands of a step, up to the first that fails. dir is for what they say
// beside their results.
func (r *runner) all(ctx context.Context, s choice.Step, dir string, draw bool, in func(choice.Word) string) (runs []Run, err error) {
	for k, c := range s.Commands {
		for _, name := range c.Files(choice.Reads) {
			if err := r.folder.Has(name); err != nil {
				return runs, fmt.Errorf("%s cannot be read: %w", name, err)
			}
		}
		for _, name := range c.Files(choice.Zones) {
			if _, err := r.folder.In(name); err != nil {
				return runs, fmt.Errorf("%s cannot be read: %w", name, err)
			}
		}
		run := r.one(ctx, c, filepath.Join(dir, fmt.Sprintf("said-%d", k)), dir, draw, in)
		if ctx.Err() != nil {
			return runs, errOvertaken
		}
		runs = append(runs, run)
		if run.Status != 0 {
			break
		}
	}
	return runs, nil
}

// one runs a command line.
func (r *runner) one(ctx context.Context, c choice.Command, said, dir string, draw bool, in func(choice.Word) string) Run {
	args := c.Words(in)
	known := r.tool.Options(name(c))
	summary, plot := said+".json", said+".svg"
	for _, more := range [...]struct{ option, file string }{{"summary", summary}, {"plot", plot}} {
		for _, o := range known {
			if o.Name == more.option && (draw || more.option == "summary") && name(c) != "report" { // a report tells how it was made
				args = append(args, "--"+more.option, more.file)
			}
		}
	}
	draws := name(c) != "report" && slices.ContainsFunc(known, func(o option.Option) bool { return o.Name == "plot" })
	var stdout, stderr bytes.Buffer
	began := time.Now()
	run := Run{Command: typed(r.tool, c), Draws: draws}
	run.Status = r.tool.Run(ctx, args, &stdout, &stderr)
	run.Seconds = time.Since(began).Seconds()
	plainNames := strings.NewReplacer(
		filepath.Join(dir, typedFile), strings.Join(c.Files(choice.Typed), ""),
		filepath.Join(dir, outs)+string(filepath.Separator), "",
		dir+string(filepath.Separator), "")
	run.Messages = messages(plainNames.Replace(stderr.String()))
	if name(c) == "advise" {
		run.Said = plainNames.Replace(stdout.String())
	}
	if text, err := os.ReadFile(summary); err == nil && json.Valid(text) {
		run.Figures = text
	}
	if text, err := os.ReadFile(plot); err == nil {
		run.Picture = string(text)
	}
	return run
}

// typed is a command line as it is typed.
func typed(tool Tool, c choice.Command) string {
	return "sagitta " + strings.Join(c.Words(func(w choice.Word) string { return tool.Quote(w.Text) }), " ")
}

// name is that of a command, with that of its group before it.
func name(c choice.Command) string {
	if c[0].Text == "lens" {
		return c[0].Text + " " + c[1].Text
	}
	return c[0].Text
}
