package program

import (
	"bytes"
	"fmt"
	"testing"
	"time"
)

func TestMin(t *testing.T) {
	var text bytes.Buffer
	n := 20000
	for i := range n {
		fmt.Fprintf(&text, "X%d.%d S%d\n", 150+i/10%300, i%10, (i*919+7)%1000)
	}
	lines := make([]PlainLine, 256)
	best := time.Hour
	for range 1500 {
		r := NewReader(bytes.NewReader(text.Bytes()), "f")
		t0 := time.Now()
		for {
			n, _, _ := r.Plain(lines, 'S')
			if n == 0 {
				break
			}
		}
		best = min(best, time.Since(t0))
	}
	t.Logf("%.2f ns/line", float64(best.Nanoseconds())/float64(n))
}
