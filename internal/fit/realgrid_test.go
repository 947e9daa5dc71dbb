package fit

import (
	"archive/tar"
	"archive/zip"
	"bytes"
	"compress/gzip"
	"encoding/binary"
	"encoding/json"
	"fmt"
	"io"
	"math"
	"os"
	"os/exec"
	"path/filepath"
	"strconv"
	"strings"
	"testing"

	"sagitta/internal/fit/layout"
	"sagitta/internal/surface"
)

// realGrid is a grid that the test fetches with the ordinary client of a
// package registry; it is not kept here.
type realGrid struct {
	nx, ny int
	z      []float64
}

func fetch(t *testing.T, what string, args ...string) string {
	t.Helper()
	if testing.Short() {
		t.Skip("fetches a package")
	}
	dir := t.TempDir()
	cmd := exec.Command(args[0], args[1:]...)
	cmd.Dir = dir
	if out, err := cmd.CombinedOutput(); err != nil {
		t.Skipf("%s cannot be fetched here (%v): %.200s", what, err, out)
	}
	names, _ := filepath.Glob(filepath.Join(dir, "*"))
	if len(names) != 1 {
		t.Skipf("%s: fetched %v", what, names)
	}
	return names[0]
}

// volcano reads the grid of the npm package vega-datasets.
func volcano(t *testing.T) realGrid {
	file, err := os.Open(fetch(t, "vega-datasets", "npm", "pack", "vega-datasets"))
	if err != nil {
		t.Fatal(err)
	}
	defer file.Close()
	unzip, err := gzip.NewReader(file)
	if err != nil {
		t.Fatal(err)
	}
	for in := tar.NewReader(unzip); ; {
		h, err := in.Next()
		if err != nil {
			t.Skip("no volcano.json in the package")
		}
		if !strings.HasSuffix(h.Name, "data/volcano.json") {
			continue
		}
		var v struct {
			Width, Height int
			Values        []float64
		}
		if err := json.NewDecoder(in).Decode(&v); err != nil {
			t.Fatal(err)
		}
		return realGrid{v.Width, v.Height, v.Values}
	}
}

// jacksboro reads the grid of Debian's python-matplotlib-data.
func jacksboro(t *testing.T) realGrid {
	deb := fetch(t, "python-matplotlib-data", "apt-get", "download", "python-matplotlib-data")
	fs := exec.Command("dpkg-deb", "--fsys-tarfile", deb)
	pipe, err := fs.StdoutPipe()
	if err != nil {
		t.Fatal(err)
	}
	if err := fs.Start(); err != nil {
		t.Skipf("dpkg-deb: %v", err)
	}
	defer fs.Wait()
	defer io.Copy(io.Discard, pipe)
	for in := tar.NewReader(pipe); ; {
		h, err := in.Next()
		if err != nil {
			t.Skip("no jacksboro_fault_dem.npz in the package")
		}
		if !strings.HasSuffix(h.Name, "jacksboro_fault_dem.npz") {
			continue
		}
		b, err := io.ReadAll(in)
		if err != nil {
			t.Fatal(err)
		}
		z, err := zip.NewReader(bytes.NewReader(b), int64(len(b)))
		if err != nil {
			t.Fatal(err)
		}
		f, err := z.Open("elevation.npy")
		if err != nil {
			t.Skip("no elevation.npy in the grid's file")
		}
		if b, err = io.ReadAll(f); err != nil {
			t.Fatal(err)
		}
		g, err := npy(b)
		if err != nil {
			t.Skip(err)
		}
		return g
	}
}

// npy reads a two-dimensional array of 16-bit integers, row after row.
func npy(b []byte) (g realGrid, err error) {
	if len(b) < 10 || string(b[:6]) != "\x93NUMPY" {
		return g, fmt.Errorf("not an array")
	}
	n := int(binary.LittleEndian.Uint16(b[8:]))
	head := string(b[10 : 10+n])
	_, shape, _ := strings.Cut(head, "'shape': (")
	shape, _, _ = strings.Cut(shape, ")")
	ny, nx, ok := strings.Cut(shape, ", ")
	if !ok || !strings.Contains(head, "<i2") && !strings.Contains(head, ">i2") || strings.Contains(head, "'fortran_order': True") {
		return g, fmt.Errorf("an array of another kind: %s", head)
	}
	g.ny, _ = strconv.Atoi(ny)
	g.nx, _ = strconv.Atoi(nx)
	var order binary.ByteOrder = binary.LittleEndian
	if strings.Contains(head, ">i2") {
		order = binary.BigEndian
	}
	for data := b[10+n:]; len(data) >= 2; data = data[2:] {
		g.z = append(g.z, float64(int16(order.Uint16(data))))
	}
	if len(g.z) != g.nx*g.ny {
		return g, fmt.Errorf("%d values for %d x %d", len(g.z), g.nx, g.ny)
	}
	return g, nil
}

// Sampled at every third node, a real grid is predicted at the others as
// badly as cross-validation of the samples says, within 30 %; without the
// correction for the coarser spacing it does not say less than that.
func TestRealGrids(t *testing.T) {
	for _, c := range []struct {
		name           string
		read           func(*testing.T) realGrid
		nx, ny         int
		low, high, avg float64
	}{
		{"volcano", volcano, 87, 61, 94, 195, 130.1878651},
		{"jacksboro", jacksboro, 403, 344, 236, 1076, 531.03117},
	} {
		t.Run(c.name, func(t *testing.T) {
			g := c.read(t)
			low, high, sum := math.Inf(1), math.Inf(-1), 0.0
			for _, z := range g.z {
				low, high, sum = min(low, z), max(high, z), sum+z
			}
			if avg := sum / float64(len(g.z)); g.nx != c.nx || g.ny != c.ny || low != c.low || high != c.high || math.Abs(avg-c.avg) > 1e-4 {
				t.Fatalf("%d x %d from %v to %v, mean %v: not the grid of the check values", g.nx, g.ny, low, high, avg)
			}
			var points []surface.Point
			for j := 0; j < g.ny; j += 3 {
				for i := 0; i < g.nx; i += 3 {
					points = append(points, surface.Point{X: float64(i), Y: float64(j), Z: g.z[j*g.nx+i]})
				}
			}
			sample, last := layout.GridOf(points, 0), points[len(points)-1]
			for _, method := range []string{"bilinear", "bicubic", "smooth"} {
				cand := crossValidate(newForms(points), sample, method, true)
				choice, err := Choose(points, sample, method, Given{})
				if err != nil {
					t.Fatal(err)
				}
				var square, n float64
				for k, z := range g.z {
					i, j := k%g.nx, k/g.nx
					if i%3 == 0 && j%3 == 0 || i > int(last.X) || j > int(last.Y) {
						continue
					}
					d := choice.Shape.At(float64(i), float64(j)) - z
					square, n = square+d*d, n+1
				}
				truth := math.Sqrt(square / n)
				t.Logf("%s: says %.4g, without correction %.4g, true %.4g", method, cand.ErrorMM, cand.RawMM, truth)
				if r := cand.ErrorMM / truth; method != "smooth" && (r < 0.7 || r > 1.3) {
					t.Errorf("%s: the error said is %.2f times the true one", method, r)
				}
				if cand.RawMM < truth {
					t.Errorf("%s: without correction %v is below the true %v", method, cand.RawMM, truth)
				}
			}
		})
	}
}
