package recheck

import (
	"io"

	"sagitta/internal/diag"
	"sagitta/internal/machine"
	"sagitta/internal/phrase"
	"sagitta/internal/rewrite"
	"sagitta/internal/stream"
)

// Stop is a stop that is put into a program, for touches by hand.
type Stop struct {
	// After is the line behind which it stands.
	After int
	// Says is what the comments before it tell, a line each.
	Says []string
}

// Insert writes the program of r to w, with a stop behind a line. The line on which the
// written program stops is returned. Errors are those of package stream, and a
// *diag.Error where it cannot stop there.
func (s *Stop) Insert(r io.Reader, w io.Writer, opt rewrite.Options) (line int, err error) {
	out := rewrite.New(w, &opt)
	source := stream.New(r, stream.Options{Name: opt.Name, Machine: opt.Machine, Blocks: true})
	burned, last := 0, 0 // the line on which the burn under way begins, and the last of all
	var at machine.Point // where it has come to
	err = source.Each(func(it *stream.Item) error {
		defer source.Done(it)
		n := it.Block.Line
		if last = n; line == 0 && n > s.After {
			if line, err = s.write(out); err != nil {
				return err
			}
		}
		switch goesOn := burned > 0 && it.Move.From == at; {
		case it.Move.Burn && goesOn && line > 0 && burned <= s.After:
			return diag.Errorf(diag.Setting, "give a line behind which a burn ends",
				"%s: a stop behind line %d is amid the burn that begins at line %d, and would leave a mark", opt.Name, s.After, burned)
		case it.Move.Burn && !goesOn:
			burned = n
		case it.Moves() && !it.Move.Burn, it.After.Beam == machine.Off:
			burned = 0
		}
		if it.Move.Burn {
			at = it.Move.To
		}
		out.Pass(it, rewrite.Target{})
		return out.Err()
	})
	if err == nil && line == 0 {
		err = diag.Errorf(diag.Setting, "", "%s: there is nothing behind line %d to stop before: the program has %s", opt.Name, s.After, phrase.Count(last, "line"))
	}
	if err == nil {
		err = out.Finish()
	}
	return line, err
}

// write writes the stop.
func (s *Stop) write(out *rewrite.Pen) (int, error) {
	if out.Stopped() {
		return 0, diag.Errorf(diag.Setting, "", "line %d is behind the program's end", s.After)
	}
	for _, text := range s.Says {
		out.Remark(nil, text)
	}
	return out.Wait(nil, "recheck: touch, and go on only where it holds"), out.Err()
}
