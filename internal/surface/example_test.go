package surface_test

import (
	"fmt"
	"strings"

	"sagitta/internal/surface"
	"sagitta/internal/surface/file"
)

// A sheet that bows up by half a millimetre, laid down 100 mm to the right,
// and a move across it.
func Example() {
	const sheet = `# error_mm: 0.02
y\x,  0,  50, 100
0,    0, 0.5,   0
80,   0, 0.5,   0
`
	s, err := file.Read(strings.NewReader(sheet), "sheet.csv")
	if err != nil {
		fmt.Println(err)
		return
	}
	p, err := surface.Place(s, surface.Placement{ShiftX: 100})
	if err != nil {
		fmt.Println(err)
		return
	}
	h, where := p.At(125, 40)
	fmt.Println(h, where == surface.On)
	for _, c := range p.AppendLine(nil, 110, 10, 210, 10, 0.005, 0) {
		fmt.Printf("%.2f to %.2f: %.2f to %.2f mm, outside %t\n", c.S0, c.S1, c.H0, c.H1, c.Where == surface.Outside)
	}
	// Output:
	// 0.25 true
	// 0.00 to 0.40: 0.10 to 0.50 mm, outside false
	// 0.40 to 0.90: 0.50 to 0.00 mm, outside false
	// 0.90 to 1.00: 0.00 to 0.00 mm, outside true
}
