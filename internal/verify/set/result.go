package set

import (
	"path/filepath"

	"sagitta/internal/verify"
)

// Result is what was found of a set.
type Result struct {
	// Zones are the results by zone, with the failures of its own program.
	Zones []*verify.Result
	// Whole has what concerns the set as a whole: burns that are lost, with
	// their original line, and notes that hold for all zones.
	Whole verify.Result
	// Burns and BurnLengthMM are those of the original.
	Burns        int
	BurnLengthMM float64
	// SecondsOriginal is how long the original takes.
	SecondsOriginal float64

	programs []string
}

// Holds reports whether nothing failed.
func (r *Result) Holds() bool { return r.FailureCount() == 0 }

// FailureCount counts all failures, also those that are not kept.
func (r *Result) FailureCount() int {
	n := r.Whole.FailureCount
	for _, z := range r.Zones {
		n += z.FailureCount
	}
	return n
}

// Unchecked counts the travels of which it was not checked whether they are
// clear all the way.
func (r *Result) Unchecked() (n int) {
	for _, z := range r.Zones {
		n += z.Unchecked
	}
	return n
}

// Failures gives those that are kept, one line each: those of the set as a whole,
// after the folder dir where it is not "", and then those of the zones, each after
// its program's file in the folder.
func (r *Result) Failures(dir string) (list []string) {
	program := append([]string{""}, r.programs...)
	for i, z := range append([]*verify.Result{&r.Whole}, r.Zones...) {
		where := filepath.Join(dir, program[i])
		if where != "" {
			where += ": "
		}
		for _, f := range z.Failures {
			list = append(list, where+f.String())
		}
	}
	return list
}
