package record

import (
	"fmt"
	"strings"

	"sagitta/internal/phrase"
)

// String says which burns the rule is for, and what it wants of them, as in "cuts, lines 40
// to 88: focus 1.5 mm into the stock".
func (r *BurnRule) String() string {
	return strings.TrimSuffix(r.Matches()+": "+strings.Join(r.wants(), ", "), ": ")
}

// Matches says which burns the rule is for.
func (r *BurnRule) Matches() string {
	text := "burns"
	if r.Cuts != nil {
		text = map[bool]string{true: "cuts", false: "marks"}[*r.Cuts]
	}
	matched := text
	if r.Lines != nil {
		text += ", " + r.Lines.String()
	}
	if r.Tool != nil {
		text += fmt.Sprintf(", tool %d", *r.Tool)
	}
	if f := r.FeedMMMin; f != nil {
		text += fmt.Sprintf(", feed %g to %g mm/min", f[0], f[1])
	}
	if p := r.Power; p != nil {
		text += fmt.Sprintf(", power %g to %g", p[0], p[1])
	}
	if text == matched {
		return "all " + text
	}
	return text
}

// wants says what the rule sets of the focus.
func (r *BurnRule) wants() (list []string) {
	switch d := r.Defocus(); {
	case r.IntoStockMM != nil:
		list = append(list, fmt.Sprintf("focus %g mm into the stock", *r.IntoStockMM))
	case d != nil && *d == 0:
		list = append(list, "no defocus")
	case d != nil:
		list = append(list, "defocus "+phrase.Signed(*d, 3)+" mm")
	}
	if r.DetailMM != nil {
		list = append(list, fmt.Sprintf("details of %g mm", *r.DetailMM))
	}
	if s := r.DepthMM; s != nil {
		list = append(list, "sharp "+phrase.Sides(-s[0], s[1])+" mm")
	}
	if r.Use != nil {
		list = append(list, fmt.Sprintf("%.3g %% of the depth to spend", 100**r.Use))
	}
	return list
}
