package cli

import (
	"encoding/json"
	"os"
	"path/filepath"
	"reflect"
	"testing"
)

// What split says that its own proof found is what verify finds of the folder, whatever
// way it was made: so nobody has to have it proved again to know.
func TestSplitTellsItsProof(t *testing.T) {
	dir := bench(t, 9)
	for name, way := range map[string][]string{
		"plain": nil, "in Z": {"--set-z"}, "one program": {"--pause", "--set-z"}, "followed": {"--follow"}, "wanted defocus": {"--defocus=-0.4"},
	} {
		t.Run(name, func(t *testing.T) {
			out, said, found := filepath.Join(dir, "zones"), filepath.Join(dir, "split.json"), filepath.Join(dir, "verify.json")
			job := filepath.Join(dir, "job.gcode")
			args := append([]string{"split", job, "-s", filepath.Join(dir, "bow.csv"), "--depth", "0.7", "-o", out, "--replace", "--summary", said}, way...)
			if status, stderr := exitStatus(t, tool(args...)); status != 0 {
				t.Fatalf("split: status %d: %s", status, stderr)
			}
			if status, stderr := exitStatus(t, tool("verify", out, "--against", job, "--summary", found)); status != 0 {
				t.Fatalf("verify: status %d: %s", status, stderr)
			}
			proof := figuresOf(t, said)["proof"]
			if want := any(figuresOf(t, found)); !reflect.DeepEqual(proof, want) {
				t.Errorf("split says that its proof found %v\nverify finds %v", proof, want)
			}
		})
	}
}

// figuresOf are the figures of a summary.
func figuresOf(t *testing.T, name string) map[string]any {
	t.Helper()
	text, err := os.ReadFile(name)
	if err != nil {
		t.Fatal(err)
	}
	var g struct{ Figures map[string]any }
	if err := json.Unmarshal(text, &g); err != nil {
		t.Fatal(err)
	}
	return g.Figures
}
