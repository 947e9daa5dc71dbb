// Package heightmaps holds sample surfaces, embedded in the program, in the
// CSV forms that the rest of it reads. README.md says how each was made.
package heightmaps

import _ "embed"

//go:embed panel.csv
var panel string

// Panel gives a cupped and twisted sheet of thin plywood as a grid in CSV:
// x from 0 to 300 mm, y from 0 to 200 mm, heights up in mm, zero at the node
// (25, 25). Each call gives a copy of its own.
func Panel() []byte { return []byte(panel) }
