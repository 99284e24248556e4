package cli

import (
	"context"
	"crypto/sha256"
	"encoding/hex"
	"fmt"
	"io"
	"slices"
	"strings"
	"time"

	"example.com/stance/index"
	"example.com/stance/lint"
	"example.com/stance/lint/finding"
	"example.com/stance/lint/note"
)

// copiedAcross is the rule that rests on notes of other residents.
const copiedAcross = "copied-across"

// A rejudging is the part of a run of stance keep that sets the rules of notes.
type rejudging struct {
	*keeper
	residents []string
	anew      bool                // all notes are judged, whatever they were judged by
	grounds   string              // what all residents are judged by, but for the chart
	of        map[string]judgment // by resident
	days      days                // on which notes of others may be copied
	all       span                // of those
}

// A judgment is how one resident is judged.
type judgment struct {
	grounds string      // what the resident is judged by
	whole   bool        // all notes are judged
	across  bool        // and held against those of other residents, all of them
	changed []time.Time // else of these times
	window              // what they may change
}

// judge sets the rules of the notes of residents that new and changed ones may change, of all of them where they are
// judged by something else than before. A resident counts as judged once that is stored, so a run that is stopped
// is completed by the next.
func (k *keeper) judge(ctx context.Context, dir string, residents []string, anew bool) error {
	j := &rejudging{keeper: k, residents: residents, anew: anew, of: map[string]judgment{}, days: days{}}
	j.grounds = k.generalGrounds()
	for _, r := range residents {
		if err := j.prepare(r); err != nil {
			return err
		}
	}
	checker, err := lint.NewChecker(k.home.lex, k.chart, k.home.policy)
	if err != nil {
		return err
	}
	// A home's notes of many years need not fit into memory; they stay in the folder that is theirs.
	spool, err := checker.Spool(dir)
	if err != nil {
		return err
	}
	defer spool.Close()
	err = gather(ctx, k.w, need{
		residents: residents, own: j.choose,
		around: func() span { return j.all }, beside: j.days.has,
	}, func(n note.Note) error {
		checker.Add(n)
		return nil
	}, func(n note.Note) error {
		checker.AddBeside(n)
		return nil
	})
	if err != nil {
		return err
	}
	show, done := k.newProgress(k.quiet), 0
	defer show.done()
	met := map[string]bool{}
	_, err = checker.Each(ctx, func(judged lint.Judged) error {
		done++
		show.line("%d of %d residents checked", done, len(residents))
		met[judged.Timeline.Resident] = true
		return j.store(ctx, judged)
	})
	for _, r := range residents {
		if err != nil {
			break
		}
		if !met[r] { // notes were withdrawn, and there is none near them
			err = k.w.JudgedPart(ctx, r, func(_ string, have []string) []string { return have })
		}
	}
	return err
}

// prepare settles how a resident is judged.
func (j *rejudging) prepare(resident string) error {
	r := judgment{grounds: j.grounds + " " + j.chartGrounds(resident)}
	before := j.w.Grounds(resident)
	r.whole = j.anew || before != r.grounds
	r.across = r.whole && (j.anew || !strings.HasPrefix(before, j.grounds+" "))
	changed, err := j.w.Changed(resident)
	if err != nil {
		return err
	}
	r.changed = changed
	j.of[resident] = r
	return j.w.SetGrounds(resident, r.grounds)
}

// choose says which of a resident's notes are judged, or needed for that.
func (j *rejudging) choose(resident string, notes []index.Moment) []bool {
	r := j.of[resident]
	var in span
	for _, t := range r.changed {
		in.take(t)
	}
	r.window = newWindow(in, true, notes, j.home.policy)
	j.of[resident] = r
	taken := r.choose(resident, notes, r.changed, j.chart, time.Time{})
	for i, m := range notes {
		taken[i] = taken[i] || r.whole
		if r.across || r.about.has(m.Time) {
			j.days.take(m.Time)
			j.all.take(m.Time)
		}
	}
	return taken
}

// store sets the rules of a resident's notes.
func (j *rejudging) store(ctx context.Context, judged lint.Judged) error {
	fired := map[string][]string{}
	for i := range judged.Findings {
		// A finding on a shift that has no note has none to be found by.
		if f := &judged.Findings[i]; f.Note != "" && !slices.Contains(fired[f.Note], f.Rule) {
			fired[f.Note] = append(fired[f.Note], f.Rule)
		}
	}
	r := j.of[judged.Timeline.Resident]
	about := map[string]bool{}
	for _, e := range judged.Timeline.Entries {
		about[e.Note.ID] = r.about.has(e.Note.Time)
	}
	if err := j.handOn(ctx, &judged, r.across || r.whole, about); err != nil {
		return err
	}
	return j.w.JudgedPart(ctx, judged.Timeline.Resident, func(id string, have []string) []string {
		switch {
		case r.across || about[id]:
			return fired[id]
		case r.whole: // what was copied from others is as it was
			now := slices.DeleteFunc(slices.Clone(fired[id]), func(rule string) bool { return rule == copiedAcross })
			if slices.Contains(have, copiedAcross) {
				now = append(now, copiedAcross)
			}
			return now
		}
		return have
	})
}

// handOn hands on what was found in notes that were judged with all that stands around them, and what was not understood.
func (j *rejudging) handOn(ctx context.Context, judged *lint.Judged, whole bool, about map[string]bool) error {
	if j.found == nil {
		return nil
	}
	var list []finding.Finding
	for _, f := range judged.Findings {
		if f.Note != "" && (whole || about[f.Note]) {
			list = append(list, f)
		}
	}
	overlooked := slices.DeleteFunc(judged.Overlooked(), func(o finding.Overlooked) bool { return !whole && !about[o.Note] })
	if len(list)+len(overlooked) == 0 {
		return nil
	}
	return j.found(ctx, list, overlooked)
}

// generalGrounds are what residents are judged by apart from their own rows of the chart.
func (k *keeper) generalGrounds() string {
	h := sha256.New()
	fmt.Fprintf(h, "%s\n%t\n%s\n", version(), k.chart != nil, k.home.text)
	for _, c := range k.home.lex.Concepts() {
		fmt.Fprintf(h, "%q %q\n", c.ID, c.Says)
	}
	return short(h)
}

// chartGrounds are the resident's rows of the chart.
func (k *keeper) chartGrounds(resident string) string {
	h := sha256.New()
	for _, row := range k.chart.Rows(resident) {
		r := *row
		r.Line, r.Name, r.Room = 0, "", "" // neither its place in the file nor what a resident is called bears on a judgement
		fmt.Fprintf(h, "%+v\n", r)
	}
	return short(h)
}

// short is enough of a digest to tell some thousands of residents' grounds apart.
func short(h interface {
	io.Writer
	Sum([]byte) []byte
}) string {
	return hex.EncodeToString(h.Sum(nil)[:8])
}
