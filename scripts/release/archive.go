package main

import (
	"archive/tar"
	"archive/zip"
	"bytes"
	"compress/gzip"
	"io/fs"
	"time"
)

// mode is that of a file in an archive.
func (f *file) mode() int64 {
	if f.run {
		return 0o755
	}
	return 0o644
}

// tarred packs files in their order, all of one time and nobody's.
func tarred(files []file, at time.Time) ([]byte, error) {
	var out bytes.Buffer
	z, err := gzip.NewWriterLevel(&out, gzip.BestCompression)
	if err != nil {
		return nil, err
	}
	w := tar.NewWriter(z)
	for i := range files {
		f := &files[i]
		h := &tar.Header{Typeflag: tar.TypeReg, Name: f.name, Size: int64(len(f.text)), Mode: f.mode(), ModTime: at, Format: tar.FormatUSTAR}
		if err := w.WriteHeader(h); err != nil {
			return nil, err
		}
		if _, err := w.Write(f.text); err != nil {
			return nil, err
		}
	}
	if err := w.Close(); err != nil {
		return nil, err
	}
	err = z.Close()
	return out.Bytes(), err
}

// zipped packs them as ZIP.
func zipped(files []file, at time.Time) ([]byte, error) {
	var out bytes.Buffer
	z := zip.NewWriter(&out)
	for i := range files {
		f := &files[i]
		h := &zip.FileHeader{Name: f.name, Method: zip.Deflate, Modified: at}
		h.SetMode(fs.FileMode(f.mode()))
		w, err := z.CreateHeader(h)
		if err != nil {
			return nil, err
		}
		if _, err := w.Write(f.text); err != nil {
			return nil, err
		}
	}
	err := z.Close()
	return out.Bytes(), err
}
