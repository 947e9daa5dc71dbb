package follow

// The programs and the sheet whose following is timed: much like what benches
// send, and drawn from fixed seeds.

import (
	"bufio"
	"fmt"
	"io"
	"math"
	"math/rand"
)

// jobWidth and jobHeight are those of the sheet in mm.
const jobWidth, jobHeight = 300.0, 200.0

// writeSheet writes a bowed sheet, rising by 3 mm, as a grid of 41 × 31 heights.
func writeSheet(to io.Writer) error {
	w := bufio.NewWriter(to)
	const nx, ny = 41, 31
	fmt.Fprint(w, "# error_mm: 0\ny\\x")
	for i := range nx {
		fmt.Fprintf(w, ",%.4f", jobWidth*float64(i)/(nx-1))
	}
	for j := range ny {
		y := jobHeight * float64(j) / (ny - 1)
		fmt.Fprintf(w, "\n%.4f", y)
		for i := range nx {
			x := 2*float64(i)/(nx-1) - 1
			fmt.Fprintf(w, ",%.4f", 3*(1-x*x)*(0.6+0.4*math.Sin(y/60)))
		}
	}
	fmt.Fprintln(w)
	return w.Flush()
}

// timedJob is a kind of program.
type timedJob struct {
	name, what string
	lines      func(w *sizedWriter, size int64)
}

// timedJobs are the jobs that are timed; the first is the raster.
var timedJobs = []timedJob{
	{"raster", "pixels of 0.1 mm, a power each", raster},
	{"relative", "the same in G91", relative},
	{"vector", "curves in moves of 0.4 mm", vector},
	{"arcs", "arcs of 0.3 to 3 mm radius", arcs},
}

// sizedWriter counts what is written.
type sizedWriter struct {
	*bufio.Writer
	n int64
}

func (c *sizedWriter) line(format string, args ...any) {
	n, _ := fmt.Fprintf(c, format+"\n", args...)
	c.n += int64(n)
}

// write writes a program of about size bytes.
func (j timedJob) write(to io.Writer, size int64) error {
	w := &sizedWriter{Writer: bufio.NewWriterSize(to, 1<<16)}
	w.line("G21 G90\nM5\nG0 X150 Y100\nM4 S500\nG1 F3000")
	j.lines(w, size)
	w.line("M5\nG90\nG0 X0 Y0\nM2")
	return w.Flush()
}

// power is a value for pixel k that has no period within a row.
func power(k int) int { return k * 7919 % 1000 }

func raster(w *sizedWriter, size int64) {
	x, y, d := 1500, 100, 1
	for k := 0; w.n < size; k++ {
		if x += d; x < 100 || x > 2900 {
			d = -d
			if y++; y > 1900 {
				y = 100
			}
			w.line("G1 Y%d.%d S0", y/10, y%10)
			continue
		}
		w.line("X%d.%d S%d", x/10, x%10, power(k))
	}
}

func relative(w *sizedWriter, size int64) {
	w.line("G91")
	x, y, d, up := 1500, 1000, 1, 1
	for k := 0; w.n < size; k++ {
		if x+d < 100 || x+d > 2900 {
			d = -d
			if y < 110 || y > 1890 {
				up = -up
			}
			y += up
			w.line("Y%.1f S0", 0.1*float64(up))
			continue
		}
		x += d
		w.line("X%.1f S%d", 0.1*float64(d), power(k))
	}
}

func inside(x, y float64) bool { return x > 15 && x < jobWidth-15 && y > 15 && y < jobHeight-15 }

func vector(w *sizedWriter, size int64) {
	r := rand.New(rand.NewSource(1))
	x, y, a := jobWidth/2, jobHeight/2, 0.0
	for k := 1; w.n < size; k++ {
		a += r.Float64()*0.4 - 0.2
		x, y = x+0.4*math.Cos(a), y+0.4*math.Sin(a)
		if !inside(x, y) {
			a = math.Atan2(jobHeight/2-y, jobWidth/2-x)
		}
		word := "G1"
		if k%500 == 0 {
			word = "G0"
		}
		w.line("%s X%.3f Y%.3f", word, x, y)
	}
}

func thousandths(v float64) float64 { return math.Round(v*1000) / 1000 }

func arcs(w *sizedWriter, size int64) {
	r := rand.New(rand.NewSource(2))
	x, y := jobWidth/2, jobHeight/2
	for w.n < size {
		radius, a := 0.3+2.7*r.Float64(), 2*math.Pi*r.Float64()
		i, j := radius*math.Cos(a), radius*math.Sin(a)
		b := a + math.Pi + 0.2 + 2.8*r.Float64()
		nx, ny := x+i+radius*math.Cos(b), y+j+radius*math.Sin(b)
		if !inside(nx, ny) {
			x, y = jobWidth/2, jobHeight/2
			w.line("G0 X%g Y%g", x, y)
			continue
		}
		nx, ny, i, j = thousandths(nx), thousandths(ny), thousandths(i), thousandths(j)
		if math.Abs(math.Hypot(i, j)-math.Hypot(nx-x-i, ny-y-j)) > 0.0015 {
			continue // by RS274's rule for radii it would soon be no arc
		}
		w.line("G3 X%.3f Y%.3f I%.3f J%.3f", nx, ny, i, j)
		x, y = nx, ny
	}
}
