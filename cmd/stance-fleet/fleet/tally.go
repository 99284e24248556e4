package fleet

import (
	"bytes"
	"encoding/json"
	"net/url"

	"example.com/stance/lint/audit"
)

// A counted is the accumulator of tallyFn: a tally, or none yet. It travels as a partial audit.
type counted struct{ tally *audit.Tally }

func encodeCounted(c counted) ([]byte, error) {
	if c.tally == nil {
		return []byte{}, nil
	}
	return c.tally.Partial()
}

func decodeCounted(b []byte) (counted, error) {
	if len(b) == 0 {
		return counted{}, nil
	}
	t, err := audit.ReadPartial("a partial between workers", bytes.NewReader(b))
	return counted{t}, err
}

func (c counted) plus(o counted) (counted, error) {
	if c.tally == nil || o.tally == nil {
		if c.tally == nil {
			c = o
		}
		return c, nil
	}
	return c, c.tally.Merge(o.tally)
}

// tallyFn combines partial audits, which merge in any order.
type tallyFn struct{}

func (tallyFn) CreateAccumulator() counted { return counted{} }

func (tallyFn) AddInput(c counted, partial []byte) (counted, error) {
	o, err := decodeCounted(partial)
	if err != nil {
		return c, err
	}
	return c.plus(o)
}

func (tallyFn) MergeAccumulators(a, b counted) (counted, error) { return a.plus(b) }

func (tallyFn) ExtractOutput(c counted) ([]byte, error) { return encodeCounted(c) }

// sumFn adds up the sums of a home.
type sumFn struct{}

func (sumFn) CreateAccumulator() Sum { return Sum{} }

func (sumFn) AddInput(s Sum, b []byte) (Sum, error) {
	var o Sum
	err := json.Unmarshal(b, &o)
	return s.plus(o), err
}

func (sumFn) MergeAccumulators(a, b Sum) Sum { return a.plus(b) }

func (sumFn) ExtractOutput(s Sum) ([]byte, error) { return json.Marshal(s) }

// tallyFile is the tally of a home as a file of the output. What could not be read of a file of many homes is
// nobody's.
func tallyFile(home string, partial []byte, items func(string, []byte)) {
	if home != "" {
		items(tallyName(home), packItem("", partial))
	}
}

// tallyName is the file of a home's tally. A home may be called what no file can be.
func tallyName(home string) string { return "audit-" + url.PathEscape(home) + ".json" }

// underHome is the tally of a home to be counted among those of others.
func underHome(home string, partial []byte) ([]byte, error) {
	c, err := decodeCounted(partial)
	if err != nil || home == "" {
		return partial, err
	}
	return c.tally.Under(func(name string) string {
		if name == "" {
			return home
		}
		return home + " / " + name // as stance audit has it of several indexes
	}).Partial()
}

// groupFile is the tally of all homes as a file of the output.
func groupFile(partial []byte, items func(string, []byte)) {
	if len(partial) > 0 {
		items("audit.json", packItem("", partial))
	}
}

// sumLine is the sums of a home as a line of homes.jsonl.
func sumLine(home string, sum []byte, items func(string, []byte)) error {
	var s Sum
	if err := json.Unmarshal(sum, &s); err != nil {
		return err
	}
	b, err := jsonLine(HomeSum{home, s})
	if err != nil {
		return err
	}
	items(sumsName, packItem(home, b))
	return nil
}

// A HomeSum is a line of homes.jsonl.
type HomeSum struct {
	Home string `json:"home"`
	Sum
}
