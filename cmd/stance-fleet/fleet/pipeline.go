package fleet

import (
	"context"
	"encoding/json"
	"reflect"

	"github.com/apache/beam/sdks/v2/go/pkg/beam"
	"github.com/apache/beam/sdks/v2/go/pkg/beam/register"
)

// Beam finds functions by what was registered before main began.
func init() {
	beam.RegisterCoder(reflect.TypeFor[counted](), encodeCounted, decodeCounted)
	beam.RegisterType(reflect.TypeFor[Sum]())
	register.DoFn7x1[ctx, string, emit, emit, emit, emit, emit, error](&readFn{})
	register.DoFn3x1[string, iter, emit, error](&acrossFn{})
	register.DoFn7x1[string, iter, iter, iter, emit, emit, emit, error](&judgeFn{})
	register.DoFn4x1[ctx, string, iter, func(string, string), error](&writeFn{})
	register.DoFn3x1[ctx, string, func(*string) bool, error](&commitFn{})
	register.Combiner3[counted, []byte, []byte](&tallyFn{})
	register.Combiner3[Sum, []byte, []byte](&sumFn{})
	register.Function3x0(tallyFile)
	register.Function2x2(underHome)
	register.Function2x0(groupFile)
	register.Function3x1(sumLine)
	register.Emitter2[string, []byte]()
	register.Emitter2[string, string]()
	register.Iter1[[]byte]()
	register.Iter1[string]()
}

// Pipeline is the whole of it: it reads the files and leaves a whole output in job.Out.
func Pipeline(job Job, files []File) (*beam.Pipeline, error) {
	p, s := beam.NewPipelineWithRoot()
	refs := make([]string, len(files))
	for i, f := range files {
		b, err := json.Marshal(f)
		if err != nil {
			return nil, err
		}
		refs[i] = string(b)
	}
	// A reshuffle lets workers take files one by one.
	in := beam.Reshuffle(s, beam.CreateList(s, refs))
	notes, shifts, rows, items, tallies := beam.ParDo5(s.Scope("Read"), &readFn{Job: job}, in)

	across, judge := s.Scope("Across"), s.Scope("Judge")
	marks := beam.ParDo(across, &acrossFn{Job: job}, beam.GroupByKey(across, shifts))
	judged, more, sums := beam.ParDo3(judge, &judgeFn{Job: job}, beam.CoGroupByKey(judge, notes, marks, rows))

	audit := s.Scope("Audit")
	perHome := beam.CombinePerKey(audit, &tallyFn{}, beam.Flatten(audit, tallies, more))
	parts := []beam.PCollection{items, judged, beam.ParDo(audit, tallyFile, perHome),
		beam.ParDo(audit, sumLine, beam.CombinePerKey(audit, &sumFn{}, sums))}
	if job.Group {
		group := beam.Combine(audit, &tallyFn{}, beam.ParDo(audit, underHome, perHome))
		parts = append(parts, beam.ParDo(audit, groupFile, group))
	}

	w := s.Scope("Write")
	written := beam.ParDo(w, &writeFn{Job: job}, beam.GroupByKey(w, beam.Flatten(w, parts...)))
	beam.ParDo0(w, &commitFn{Job: job}, beam.GroupByKey(w, written))
	return p, nil
}

// What Beam hands to functions, in short.
type (
	ctx  = context.Context
	emit = func(string, []byte)
	iter = func(*[]byte) bool
)
