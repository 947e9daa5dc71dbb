// Package focus holds what is allowed of the distance between lens and stock:
// the focus depth of a lens, what of it is left once errors are taken off (the
// budget), and the Window, the closed interval of corrections that is allowed
// at a place of the path.
//
// All lengths are in mm. Defocus is the distance from lens to surface less the
// focal distance: minus is nearer, plus is further.
package focus
