package focus

// Window is the closed interval of allowed corrections c, in mm, at a place
// of the path. It is empty when Lo > Hi: empty is a value, not an error.
type Window struct{ Lo, Hi float64 }

// Empty reports whether no c is allowed.
func (w Window) Empty() bool { return w.Lo > w.Hi }

// Clamp gives the allowed c nearest to c; of an empty window, its middle.
func (w Window) Clamp(c float64) float64 {
	if w.Empty() {
		return (w.Lo + w.Hi) / 2
	}
	return max(w.Lo, min(w.Hi, c))
}

// Intersect gives what both windows allow.
func (w Window) Intersect(v Window) Window {
	return Window{max(w.Lo, v.Lo), min(w.Hi, v.Hi)}
}

// Width is Hi - Lo in mm, negative when empty.
func (w Window) Width() float64 { return w.Hi - w.Lo }
