package demo

import (
	"bytes"
	"io"

	"sagitta/internal/follow"
	"sagitta/internal/rewrite"
	"sagitta/internal/verify"
)

// everyMM is the spacing of the comparison, in mm.
const everyMM = 1.0

// Way is one way to run the job.
type Way struct {
	Name    string
	File    File
	Program []byte
	// Result is what the check of it found.
	Result *verify.Result
	// Figures are those of the pen that wrote it, nought as drawn.
	rewrite.Figures
}

// Compare runs the job as drawn, with the height at every millimetre, and
// followed, in this order, and has all checked: the last against the original.
func Compare(f follow.Options, v verify.Options) ([]*Way, *follow.Summary, error) {
	program := Program()
	every, figures, err := EveryMM(func(x, y float64) float64 {
		h, _ := f.Surface.At(x, y)
		return h
	}, everyMM)
	if err != nil {
		return nil, nil, err
	}
	var out bytes.Buffer
	sum, err := follow.Run(bytes.NewReader(program), &out, f)
	if err != nil {
		return nil, nil, err
	}
	ways := []*Way{
		{Name: "as drawn", File: Chart, Program: program},
		{Name: "every 1 mm", File: Every, Program: every, Figures: figures},
		{Name: "followed", File: Followed, Program: out.Bytes(), Figures: sum.Figures},
	}
	for _, w := range ways {
		var original io.Reader
		if w.File == Followed {
			original = bytes.NewReader(program)
		}
		if w.Result, err = verify.Run(bytes.NewReader(w.Program), w.File.Name, original, Chart.Name, v); err != nil {
			return nil, nil, err
		}
	}
	return ways, sum, nil
}
