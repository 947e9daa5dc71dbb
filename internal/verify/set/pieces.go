package set

import (
	"bufio"
	"bytes"
	"io"
	"strconv"
)

// PiecesFile is the file of a set that says where in the original each piece begins to
// burn, in the order of burning: a row has the zone's order, the line of the original,
// and the fraction of that line's move. It only saves looking for the pieces.
const PiecesFile = "pieces.csv"

// pieces are the rows of that file, as far as they have been read.
type pieces struct {
	file  io.ReadCloser
	lines *bufio.Scanner
	ahead []piece
	used  int // rows that served
}

// piece is a row.
type piece struct {
	order, line int
	from        float64
}

const (
	mostAhead   = 4 // rows that are tried for one piece
	mostRow     = 1 << 10
	piecesWords = 3
)

func readPieces(file io.ReadCloser) *pieces {
	p := &pieces{file: file, lines: bufio.NewScanner(file)}
	p.lines.Buffer(make([]byte, 0, mostRow), mostRow)
	return p
}

// of gives the next rows of a zone, a few at most; those of zones before are left out.
func (p *pieces) of(order int) []piece {
	if p == nil {
		return nil
	}
	for len(p.ahead) > 0 && p.ahead[0].order < order {
		p.take(0)
	}
	for len(p.ahead) < mostAhead && p.lines.Scan() {
		if row, ok := parsePiece(p.lines.Bytes()); ok && row.order >= order {
			p.ahead = append(p.ahead, row)
		}
	}
	for i, row := range p.ahead {
		if row.order != order {
			return p.ahead[:i]
		}
	}
	return p.ahead
}

// take takes the rows up to row i.
func (p *pieces) take(i int) { p.ahead = append(p.ahead[:0], p.ahead[i+1:]...) }

func (p *pieces) close() {
	if p != nil {
		_ = p.file.Close()
	}
}

func parsePiece(text []byte) (row piece, ok bool) {
	fields := bytes.SplitN(bytes.TrimSpace(text), []byte{','}, piecesWords+1)
	if len(fields) != piecesWords {
		return row, false
	}
	var err [piecesWords]error
	row.order, err[0] = strconv.Atoi(string(fields[0]))
	row.line, err[1] = strconv.Atoi(string(fields[1]))
	row.from, err[2] = strconv.ParseFloat(string(fields[2]), 64)
	return row, err == [piecesWords]error{} && row.from >= 0 && row.from <= 1
}
