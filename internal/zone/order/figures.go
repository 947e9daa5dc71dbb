package order

// figure is an unbroken run of burns: a run of pieces.
type figure struct {
	first, last int32 // its pieces
	whole       bool  // all its pieces are one chain
	closed      bool  // a whole one that ends where it begins
	loop        bool  // it is part of a loop
}

// figures are the job's.
func (j *Job) figures() []figure {
	if len(j.pieces) == 0 {
		return nil
	}
	figs := make([]figure, 0, j.pieces[len(j.pieces)-1].figure+1)
	for i, p := range j.pieces {
		if int(p.figure) == len(figs) {
			figs = append(figs, figure{first: int32(i), whole: true})
		}
		f := &figs[p.figure]
		f.last = int32(i)
		if !j.whole(i) || i > int(f.first) && !j.follows(i-1, i) {
			f.whole = false
		}
	}
	for i := range figs {
		f := &figs[i]
		if first, end := j.span(f); f.whole && end-first > 2 {
			f.closed = j.follows(int(f.last), int(f.first))
		}
	}
	return figs
}

// follows reports whether a piece begins where another ends.
func (j *Job) follows(a, b int) bool {
	_, end := j.ends(a)
	start, _ := j.ends(b)
	return stretch{end, end}.near(start)
}

// span are the points of a figure, end not counted.
func (j *Job) span(f *figure) (first, end int) {
	first, _ = j.points(int(f.first))
	_, end = j.points(int(f.last))
	return
}
