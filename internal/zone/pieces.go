package zone

import (
	"bufio"
	"bytes"
	"cmp"
	"crypto/sha256"
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"

	"sagitta/internal/zone/sheet"
)

// piecesName is the file that lists the pieces, piecesPart what a zone's program is
// named with where its own are kept.
const piecesName, piecesPart = "pieces.csv", "-pieces"

// listPieces writes, for each piece in the order of burning, on which line of the
// original it begins, and at which fraction of the line's move.
func listPieces(dir string, outs []*out, made *sheet.Made) error {
	f, err := os.Create(filepath.Join(dir, piecesName))
	if err != nil {
		return err
	}
	defer f.Close()
	hash := sha256.New()
	w := bufio.NewWriter(io.MultiWriter(f, hash))
	fmt.Fprintln(w, "# where the pieces of each program begin in the original, in the order of burning\norder,original_line,from")
	for _, o := range outs {
		if o.listed != nil {
			return o.listed
		}
		rows := bytes.NewReader(o.pieces)
		before, err := os.Open(string(o.file + piecesPart))
		all := io.Reader(rows)
		if err == nil {
			defer before.Close()
			all = io.MultiReader(before, rows)
		} else if !errors.Is(err, os.ErrNotExist) {
			return err
		}
		lines := bufio.NewScanner(all)
		for lines.Scan() {
			fmt.Fprintf(w, "%d%s\n", o.z.Order, lines.Bytes())
		}
		if err := lines.Err(); err != nil {
			return err
		}
	}
	if err := cmp.Or(w.Flush(), f.Close()); err != nil {
		return err
	}
	if made.Files == nil {
		made.Files = map[string]string{}
	}
	made.Files[piecesName] = fmt.Sprintf("sha256:%x", hash.Sum(nil))
	return nil
}
