package table

import "testing"

// A blank list may have come back from a spreadsheet; a field that is filled in, a value
// behind the key or another text altogether is not to be lost.
func TestFilled(t *testing.T) {
	for text, want := range map[string]bool{
		"":                                   false,
		"# datum: 5,5\nnr,x,y\n1,5,\n2,7,\n": false,
		"\ufeff# stock:,,\r\nnr;x;y\r\n1;5,5;\r\n":  false,
		"nr\tx\ty\n1\t5\t\n":                        false,
		"\"nr\",\"x\",\"y\"\n\"1\",\"5\",\"\"\n":    false,
		"nr,x,y,,\n1,5,,,\n":                        false,
		"nr,x,y\n1,5,\n2,7,0":                       true,
		"nr;x;y\r\n1;5,5;0,2\r\n":                   true,
		"nr\tx\ty\n1\t5\t3\n":                       true,
		"\"nr\",\"x\",\"y\"\n\"1\",\"5\",\"0.2\"\n": true,
		"# stock: oak\nnr,x,y\n":                    true,
		"a letter to nobody\n":                      true,
		"x,y\n1,5,\n":                               true, // other columns
	} {
		if got := Filled([]byte(text), "nr,x,y", "stock"); got != want {
			t.Errorf("%q: %v", text, got)
		}
	}
}
