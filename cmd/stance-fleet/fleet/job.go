package fleet

import (
	"bytes"
	"fmt"
	"time"

	"example.com/stance/lexicon"
	"example.com/stance/lint"
	"example.com/stance/lint/audit"
	"example.com/stance/lint/policy"
	"example.com/stance/lint/rules"
)

// A Job is what all workers have to know. It travels to them as JSON, in each of the pipeline's functions.
type Job struct {
	Out string // folder of the output, on a file system of Beam's
	Run string // names this run among those that began to write there

	Policy     []byte // its file; empty: the defaults
	PolicyName string
	Charted    bool              // charts were given
	HomeField  string            // field that names a note's home; empty: its file's folder does
	Columns    map[string]string // field → column, in tables
	Now        time.Time         // after which no note has any business to be
	Version    string            // of the program
	Shards     int               // files that findings are spread over
	Group      bool              // one tally of all homes as well
}

// reading is what notes are read and judged by.
type reading struct {
	policy *policy.Policy
	zone   *time.Location
}

func (j *Job) reading() (*reading, error) {
	p := policy.Default()
	if len(j.Policy) > 0 {
		lex, err := lexicon.New()
		if err != nil {
			return nil, err
		}
		all, err := rules.All()
		if err != nil {
			return nil, err
		}
		var known policy.Known
		for _, r := range all {
			known.Rules = append(known.Rules, r.ID)
		}
		for _, c := range lex.Concepts() {
			known.Concepts = append(known.Concepts, c.ID)
		}
		if p, err = policy.Read(j.PolicyName, bytes.NewReader(j.Policy), known); err != nil {
			return nil, err
		}
	}
	return &reading{p, p.Zone}, nil
}

// piecework is what judges.
func (r *reading) piecework() (*lint.Piecework, error) {
	lex, err := lexicon.New(r.policy.Words...)
	if err != nil {
		return nil, fmt.Errorf("the words of the policy: %w", err)
	}
	return lint.NewPiecework(lex, r.policy)
}

// shifts is piecework for who reads no words.
func (r *reading) shifts() (*lint.Piecework, error) { return lint.NewPiecework(nil, r.policy) }

// tally is an empty tally.
func (j *Job) tally(w *lint.Piecework, p *policy.Policy) *audit.Tally {
	return audit.New(w.Rules(), audit.Options{Version: j.Version, Charted: j.Charted, Policy: audit.PolicyOf(p)})
}

// Check reports what of a job is wrong, before any of it is done.
func (j *Job) Check() error {
	r, err := j.reading()
	if err != nil {
		return err
	}
	if _, err := r.piecework(); err != nil {
		return err
	}
	if j.Shards < 1 {
		return fmt.Errorf("%d shards: want 1 or more", j.Shards)
	}
	return nil
}
