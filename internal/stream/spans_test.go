package stream_test

import (
	"slices"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"sagitta/internal/stream"
)

// Any lines behind the first burn, read as spans in any order, are the items that they
// are in the program as a whole.
func TestSpansAreTheProgram(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		text, opt := drawProgram(t)
		opt.Blocks = true
		var all []told
		var offsets []int64
		offset, burn, percents := int64(0), -1, []int{0}
		read := func(s *stream.Reader, take func(*stream.Item)) {
			if err := s.Each(func(it *stream.Item) error {
				take(it)
				s.Done(it)
				return nil
			}); err != nil {
				t.Fatalf("%v\n%s", err, text)
			}
		}
		whole := stream.New(strings.NewReader(text), opt)
		read(whole, func(it *stream.Item) {
			if it.Move.Burn && burn < 0 {
				burn = len(all)
			}
			all, offsets = append(all, tell(it)), append(offsets, offset)
			offset += int64(it.Size())
			n := percents[len(percents)-1]
			if it.Block.Percent {
				n++
			}
			percents = append(percents, n)
		})
		offsets = append(offsets, offset)
		if whole.Remarks().Behind == 0 && int(offset) != len(text) {
			t.Fatalf("the items are of %d bytes of %d", offset, len(text))
		}
		if burn < 0 {
			t.Skip("nothing burns")
		}
		spans := []stream.Span{{Size: offsets[burn+1], Line: 1}}
		want := [][]told{all[:burn+1]}
		for range rapid.IntRange(0, 8).Draw(t, "spans") {
			i := rapid.IntRange(burn, len(all)-1).Draw(t, "from")
			j := rapid.IntRange(i, len(all)).Draw(t, "to")
			spans = append(spans, stream.Span{Offset: offsets[i], Size: offsets[j] - offsets[i], Line: all[i].line, State: all[i].before, Percents: percents[i]})
			want = append(want, all[i:j])
		}
		k := 0
		next := func() (s stream.Span, ok bool) {
			if k == len(spans) {
				return s, false
			}
			k++
			return spans[k-1], true
		}
		got := make([][]told, len(spans))
		read(stream.NewSpans(strings.NewReader(text), next, opt), func(it *stream.Item) {
			got[it.Span] = append(got[it.Span], tell(it))
		})
		for i := range want {
			if !slices.Equal(got[i], want[i]) {
				t.Fatalf("span %d: %+v\n%+v, in the whole\n%+v\n%s", i, spans[i], got[i], want[i], text)
			}
		}
	})
}
