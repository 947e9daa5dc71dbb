package focus

// Aim is what is asked of the focus on burns of one kind. Lengths are in mm.
type Aim struct {
	// Depth is the usable depth, all deductions made, and Use the part of it to spend
	// while nothing forces more.
	Depth
	Use float64
	// Defocus is the wanted defocus, + further.
	Defocus float64
}

// Lowest is the aim for what passes over burns of several kinds and is to come no nearer
// than any of them may: the least that is wanted, and as much nearer as leads to the
// least that is allowed. What is further is open; Far and Use are those of own, the
// first of the kinds.
func Lowest(own Aim, others []Aim) Aim {
	for _, a := range others {
		least, low := min(own.Defocus, a.Defocus), min(own.Defocus-own.Near, a.Defocus-a.Near)
		if least < own.Defocus || low < own.Defocus-own.Near { // else it stays what it is to the last bit
			own.Defocus, own.Near = least, least-low
		}
	}
	return own
}
