package files

// Result is a file made in memory: its name, "" for standard output, and what
// it holds.
type Result struct {
	Name string
	Text []byte
}

// Write puts results in their places. All are whole before the first appears,
// in the order given, but that what goes out as a stream goes first: a pipe
// can fail where a rename hardly can.
func (f *Files) Write(results ...Result) error {
	names := make([]string, len(results))
	for i, r := range results {
		names[i] = r.Name
	}
	if err := f.CheckOutputs(names...); err != nil {
		return err
	}
	var streams, files []*Output
	for _, r := range results {
		out, err := f.Create(r.Name)
		if err != nil {
			return err
		}
		if _, err := out.Write(r.Text); err != nil {
			return err
		}
		if out.file == nil {
			streams = append(streams, out)
		} else {
			files = append(files, out)
		}
	}
	if err := f.Err(nil); err != nil {
		return err
	}
	for _, out := range append(streams, files...) {
		if err := out.Commit(); err != nil {
			return err
		}
	}
	return nil
}
