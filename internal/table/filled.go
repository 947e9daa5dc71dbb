package table

import "strings"

// Filled reports whether a list whose last column is to be filled in holds anything that a
// blank one with this header does not: something in that column, a value behind the key of
// a comment (none where the key is ""), or another text altogether. It is not to be lost.
func Filled(list []byte, header, key string) bool {
	for line := range strings.Lines(strings.TrimPrefix(string(list), "\ufeff")) {
		row := strings.TrimSuffix(strings.TrimRight(line, " \r\n"), `""`) // a tab may stand before a blank field
		line = strings.TrimSpace(line)
		switch {
		case line == "" || heads(line, header):
		case key != "" && strings.HasPrefix(line, "# "+key+":"):
			if strings.Trim(line[len(key)+3:], " ,;\t") != "" {
				return true
			}
		case strings.HasPrefix(line, "#"):
		case !strings.ContainsAny(row[max(len(row)-1, 0):], ",;\t"):
			return true
		}
	}
	return false
}

// separators are those that a spreadsheet may have put in place of commas, and its quotes.
var separators = strings.NewReplacer(";", ",", "\t", ",", `"`, "")

// heads reports whether a line is the header of a list.
func heads(line, header string) bool {
	return strings.TrimRight(strings.ToLower(separators.Replace(line)), ",") == header
}
