// Package set proves a folder of zones: that the programs which a job was
// divided into do together what the job does, each burn once and in focus at
// its zone's setting, with every travel clear and the beam off wherever the job
// has it off. It shares nothing with what divides jobs, and takes nothing from it
// but the finished text and the list of zones.
//
// Lengths are in mm, coordinates those of the program. c counts as in package
// verify, from the zone's own setting: with the focus set F over the datum, c =
// F + σ (Z written - Z original).
package set
