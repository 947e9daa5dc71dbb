package files

import (
	"crypto/sha256"
	"fmt"
	"hash"
)

// digest is that of what passes through a file, where it is wanted.
type digest struct {
	hash  hash.Hash // nil where it is not wanted
	whole bool      // the end was reached: what is read again counts no more
}

// KeepDigest has the digest worked out of what passes from now on.
func (d *digest) KeepDigest() { d.hash, d.whole = sha256.New(), false }

// Sum is the digest as "sha256:…", or "" where none was wanted.
func (d *digest) Sum() string {
	if d.hash == nil {
		return ""
	}
	return fmt.Sprintf("sha256:%x", d.hash.Sum(nil))
}

// DigestOf is the digest of b as Sum writes it.
func DigestOf(b []byte) string { return fmt.Sprintf("sha256:%x", sha256.Sum256(b)) }

func (d *digest) take(b []byte) {
	if d.hash != nil && !d.whole {
		d.hash.Write(b)
	}
}
