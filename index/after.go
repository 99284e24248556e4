package index

import (
	"crypto/sha256"
	"encoding/base64"
	"encoding/json"
	"fmt"

	"example.com/stance/index/internal/journal"
)

// An after says where a page ended. In an order of time it is the last hit's place. By relevance it is
// all that was shown: scores change when notes are added, and a page is to repeat none and to leave none
// out all the same.
type after struct {
	Generation []byte    `json:"g"` // of the journal: addresses are its own
	Query      []byte    `json:"q"` // digest
	Last       []string  `json:"l,omitempty"`
	Shown      []address `json:"s,omitempty"`
}

// digestOf is the part of a query that its pages have in common.
func digestOf(q Query) ([]byte, error) {
	q.Limit, q.After = 0, ""
	if q.Order == "" {
		q.Order = ByRelevance
	}
	b, err := json.Marshal(q) // maps are written in order
	if err != nil {
		return nil, fmt.Errorf("the query: %w", err)
	}
	sum := sha256.Sum256(b)
	return sum[:8], nil
}

// startAfter reads the mark of a query; the zero mark is before the first page.
func startAfter(q Query, g journal.Generation) (after, error) {
	digest, err := digestOf(q)
	if err != nil {
		return after{}, err
	}
	start := after{Generation: g[:8], Query: digest}
	if q.After == "" {
		return start, nil
	}
	b, err := base64.RawURLEncoding.DecodeString(q.After)
	if err != nil {
		return after{}, ErrAfter
	}
	var a after
	if err := json.Unmarshal(b, &a); err != nil {
		return after{}, ErrAfter
	}
	timed := q.Order == ByTime || q.Order == ByNewest
	if string(a.Generation) != string(start.Generation) || string(a.Query) != string(digest) || timed && len(a.Last) != 1 {
		return after{}, ErrAfter
	}
	return a, nil
}

func (a after) String() string {
	b, err := json.Marshal(a)
	if err != nil {
		panic(err) // strings, bytes and numbers
	}
	return base64.RawURLEncoding.EncodeToString(b)
}
