package desk

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"net/http"
)

// What a request may bring at most.
const (
	mostFile    = 64 << 20 // of a dropped file: a program of two million lines
	mostChoices = 1 << 20
	mostShown   = 4 << 20 // of a file that is read on the page
)

// fault is why a request is not answered as it was asked, said to a person.
type fault struct {
	status int
	Text   string `json:"error"`
	// Field is the field of the page that it is about.
	Field string `json:"field,omitempty"`
	// Ask tells that the same with replace=true is done: it names what would be replaced.
	Ask []string `json:"ask,omitempty"`
}

func (f *fault) Error() string { return f.Text }

func faultf(status int, format string, args ...any) error {
	return &fault{status: status, Text: fmt.Sprintf(format, args...)}
}

// answers makes a handler of what answers with an object, or an error.
func answers(f func(r *http.Request) (any, error)) http.HandlerFunc {
	return func(w http.ResponseWriter, r *http.Request) {
		is, err := f(r)
		status := http.StatusOK
		if err != nil {
			bad, ok := errors.AsType[*fault](err)
			if !ok {
				bad = &fault{status: http.StatusUnprocessableEntity, Text: err.Error()}
			}
			is, status = bad, bad.status
		}
		w.Header().Set("Content-Type", "application/json; charset=utf-8")
		w.WriteHeader(status)
		_ = json.NewEncoder(w).Encode(is)
	}
}

// body reads what a request brings, of so many bytes at most.
func body(r *http.Request, most int64) ([]byte, error) {
	b, err := io.ReadAll(http.MaxBytesReader(nil, r.Body, most))
	if _, long := errors.AsType[*http.MaxBytesError](err); long {
		return nil, faultf(http.StatusRequestEntityTooLarge, "it has more than %d MB, which is the most that is taken here: put it into the folder by other means", most>>20)
	}
	if err != nil {
		return nil, faultf(http.StatusBadRequest, "it did not come as a whole: %v", err)
	}
	return b, nil
}

type nonceKey struct{}

// withNonce keeps the nonce of an answer, which its scripts and styles have to bear.
func withNonce(ctx context.Context, nonce string) context.Context {
	return context.WithValue(ctx, nonceKey{}, nonce)
}

func nonceOf(ctx context.Context) string {
	nonce, _ := ctx.Value(nonceKey{}).(string)
	return nonce
}
