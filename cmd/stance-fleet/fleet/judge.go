package fleet

import (
	"bytes"
	"encoding/json"
	"maps"
	"slices"

	"example.com/stance/lint"
	"example.com/stance/lint/audit"
	"example.com/stance/lint/chart"
	"example.com/stance/lint/finding"
)

// A Sum is what stance check counts of a home.
type Sum struct {
	Notes         int `json:"notes"`
	Residents     int `json:"residents"`
	Error         int `json:"error"`
	Warning       int `json:"warning"`
	Hint          int `json:"hint"`
	NotUnderstood int `json:"not_understood"`
}

func (s Sum) plus(o Sum) Sum {
	return Sum{s.Notes + o.Notes, s.Residents + o.Residents, s.Error + o.Error, s.Warning + o.Warning, s.Hint + o.Hint,
		s.NotUnderstood + o.NotUnderstood}
}

// judgeFn judges one resident of a home. What it counts it sends once a bundle, since a tally is far larger than what
// one resident adds to it.
type judgeFn struct {
	Job Job

	read    *reading
	work    *lint.Piecework
	tallies map[string]*audit.Tally // of this bundle, by home
	sums    map[string]Sum
}

func (f *judgeFn) Setup() error {
	var err error
	if f.read, err = f.Job.reading(); err != nil {
		return err
	}
	f.work, err = f.read.piecework()
	return err
}

func (f *judgeFn) StartBundle(items, tallies, sums func(string, []byte)) {
	f.tallies, f.sums = map[string]*audit.Tally{}, map[string]Sum{}
}

func (f *judgeFn) ProcessElement(resident string, notes, marks, rows func(*[]byte) bool, items, tallies, sums func(string, []byte)) error {
	home, name, err := unkey(resident)
	if err != nil {
		return err
	}
	all, err := unpackNotes(notes, f.read)
	if err != nil {
		return err
	}
	ch, err := f.chart(home, rows, items)
	if err != nil || len(all) == 0 {
		return err
	}
	place := make(map[origin]int, len(all))
	for i := range all {
		place[all[i].origin] = i
	}
	type slot struct{ day, at int }
	shared := map[slot]bool{}
	across := map[int]lint.AcrossCopy{}
	for b := []byte(nil); marks(&b); {
		m, err := unpackMark(b, f.read.zone)
		if err != nil {
			return err
		}
		if m.copy == nil {
			shared[slot{m.day, m.slot}] = true
			continue
		}
		across[place[m.copy.origin]] = lint.AcrossCopy{Of: m.copy.of, Share: m.copy.share}
	}
	on := notesOf(all)
	j := f.work.Judge(on, ch, across, func(i int) bool {
		k := f.work.ShiftOf(&on[i])
		return shared[slot{k.Day, k.Slot}]
	})
	f.tally(home).Add(j.Timeline, j.Counts)
	if err := f.flaws(home, all, items); err != nil {
		return err
	}
	return f.report(home, name, &j, items)
}

// chart is the resident's part of the home's chart; nil where no charts were given.
func (f *judgeFn) chart(home string, in func(*[]byte) bool, items func(string, []byte)) (*chart.Chart, error) {
	sent, err := unpackRows(in)
	if err != nil || !f.Job.Charted {
		return nil, err
	}
	rows := make([]chart.Row, len(sent))
	file := map[int]string{} // by line
	for i, r := range sent {
		rows[i], file[r.Row.Line] = r.Row, r.File
	}
	ch, clashes := chart.Clashing(rows)
	for _, c := range clashes {
		f.tally(home).AddUnread(audit.Unread{Rows: 1})
		if err := deadLetter(items, f.Job.Shards, file[c.Line], c.Line, c.What); err != nil {
			return nil, err
		}
	}
	return ch, nil
}

func (f *judgeFn) tally(home string) *audit.Tally {
	t := f.tallies[home]
	if t == nil {
		t = f.Job.tally(f.work, f.read.policy)
		f.tallies[home] = t
	}
	return t
}

// A line of findings, or of what was not understood.
type reported struct {
	Home          string              `json:"home"`
	Finding       *finding.Finding    `json:"finding,omitempty"`
	NotUnderstood *finding.Overlooked `json:"not_understood,omitempty"`
}

// report writes what was found, as stance check has it in its JSON.
func (f *judgeFn) report(home, resident string, j *lint.Judged, items func(string, []byte)) error {
	sum := Sum{Notes: len(j.Timeline.Entries), Residents: 1}
	var found, overlooked bytes.Buffer
	for i := range j.Findings {
		d := &j.Findings[i]
		switch d.Severity {
		case finding.Error:
			sum.Error++
		case finding.Warning:
			sum.Warning++
		case finding.Hint:
			sum.Hint++
		}
		if d.Evidence == nil {
			d.Evidence = []finding.Evidence{} // [] and never null
		}
		if err := writeLine(&found, reported{Home: home, Finding: d}); err != nil {
			return err
		}
	}
	for _, o := range j.Overlooked() {
		sum.NotUnderstood++
		if err := writeLine(&overlooked, reported{Home: home, NotUnderstood: &o}); err != nil {
			return err
		}
	}
	f.sums[home] = f.sums[home].plus(sum)
	k := key(home, resident)
	shard := shardOf(k, f.Job.Shards)
	for name, b := range map[string][]byte{findingsName: found.Bytes(), overlookedName: overlooked.Bytes()} {
		if len(b) > 0 {
			items(shardName(name, shard), packItem(home+"\x00"+resident, b))
		}
	}
	return nil
}

// flaws tells what is odd about notes that were all read: an id that stands twice, a note of the future.
func (f *judgeFn) flaws(home string, all []sent, items func(string, []byte)) error {
	var told []string
	first := map[string]int{}
	for i := range all {
		n := &all[i].note
		if of, ok := first[n.ID]; ok {
			told = append(told, lint.Twice(&all[of].note, n))
		} else {
			first[n.ID] = i
		}
		if n.Time.After(f.Job.Now) {
			told = append(told, lint.Ahead(n))
		}
	}
	for i, s := range told {
		b, err := jsonLine(struct {
			Home string `json:"home"`
			Flaw string `json:"flaw"`
		}{home, s})
		if err != nil {
			return err
		}
		k := key(home, all[0].note.Resident)
		items(shardName(flawsName, shardOf(k, f.Job.Shards)), packItem(home+"\x00"+all[0].note.Resident+"\x00"+ordered(i), b))
	}
	return nil
}

func (f *judgeFn) FinishBundle(items, tallies, sums func(string, []byte)) error {
	for _, home := range slices.Sorted(maps.Keys(f.tallies)) {
		b, err := f.tallies[home].Partial()
		if err != nil {
			return err
		}
		tallies(home, b)
	}
	for _, home := range slices.Sorted(maps.Keys(f.sums)) {
		b, err := json.Marshal(f.sums[home])
		if err != nil {
			return err
		}
		sums(home, b)
	}
	return nil
}

func writeLine(w *bytes.Buffer, v any) error {
	b, err := jsonLine(v)
	w.Write(b)
	return err
}

// jsonLine is a value as JSON, as the reports of stance write it, with the end of its line.
func jsonLine(v any) ([]byte, error) {
	var b bytes.Buffer
	enc := json.NewEncoder(&b)
	enc.SetEscapeHTML(false)
	err := enc.Encode(v)
	return b.Bytes(), err
}
