package main

import (
	"fmt"
	"io"
	"slices"
	"text/tabwriter"
	"time"
)

// A table is what was measured.
type table struct{ lines []*line }

// line is that of a piece of work, a new one where there is none yet.
func (t *table) line(w *work, p program, cores int) *line {
	name := p.name
	if w.other != nil {
		name = "-"
	}
	if l := t.find(w.name, name, cores); l != nil {
		return l
	}
	l := &line{work: w.name, prog: name, cores: cores, notes: w.notes}
	t.lines = append(t.lines, l)
	return l
}

func (t *table) find(work, prog string, cores int) *line {
	i := slices.IndexFunc(t.lines, func(l *line) bool { return l.work == work && l.prog == prog && l.cores == cores })
	if i < 0 {
		return nil
	}
	return t.lines[i]
}

// A spread is the median of some figures, their least and their most.
type spread struct{ median, least, most float64 }

func spreadOf(figures []float64) spread {
	if len(figures) == 0 {
		return spread{}
	}
	sorted := slices.Sorted(slices.Values(figures))
	n := len(sorted)
	return spread{(sorted[(n-1)/2] + sorted[n/2]) / 2, sorted[0], sorted[n-1]}
}

func (l *line) figures(of func(cost) float64) spread {
	var all []float64
	for _, c := range l.costs {
		all = append(all, of(c))
	}
	return spreadOf(all)
}

// ratio is the CPU time of another line over that of this one, round by round.
func (l *line) ratio(other *line) spread {
	var all []float64
	for i := range min(len(l.costs), len(other.costs)) {
		all = append(all, float64(other.costs[i].cpu)/float64(l.costs[i].cpu))
	}
	return spreadOf(all)
}

// against is the line that a line is held against: the same work of the first program or, for a program that
// is no stance, whole keeping for those that index and a check for one that counts.
func (t *table) against(l *line, first string) *line {
	beside := map[string]string{"rg counts terms": "check --chart", "raw bleve": "keep", "sqlite fts5": "keep"}
	if work, ok := beside[l.work]; ok {
		return t.find(work, first, l.cores)
	}
	return t.find(l.work, first, l.cores)
}

// print writes the table. CPU time is in µs a note where the work is on all notes, else in ms.
func (t *table) print(w io.Writer, b *bench) error {
	fmt.Fprintf(w, "%d notes on %d residents, %.1f MB, seed %d; %d rounds in turn; median (least to most)\n\n",
		b.home.Notes, b.home.Residents, float64(b.text)/1e6, b.home.Seed, b.rounds)
	tw := tabwriter.NewWriter(w, 0, 0, 2, ' ', 0)
	fmt.Fprintln(tw, "work\tprogram\tcores\tCPU\t\twall ms\tpeak MB\tindex MB\tfirst is … × this")
	for _, l := range t.lines {
		unit, per := "ms", float64(time.Millisecond)
		if l.notes > 0 {
			unit, per = "µs/note", float64(time.Microsecond)*float64(l.notes)
		}
		cpu := l.figures(func(c cost) float64 { return float64(c.cpu) / per })
		wall := l.figures(func(c cost) float64 { return c.wall.Seconds() * 1000 })
		peak := l.figures(func(c cost) float64 { return float64(c.peak) / 1e6 })
		size, ratio := "", ""
		if l.size > 0 {
			size = fmt.Sprintf("%.1f", float64(l.size)/1e6)
		}
		if first := t.against(l, b.programs[0].name); first != nil && first != l {
			r := l.ratio(first)
			ratio = fmt.Sprintf("%.2f (%.2f to %.2f)", r.median, r.least, r.most)
		}
		fmt.Fprintf(tw, "%s\t%s\t%d\t%.1f (%.1f to %.1f)\t%s\t%.0f\t%.0f\t%s\t%s\n",
			l.work, l.prog, l.cores, cpu.median, cpu.least, cpu.most, unit, wall.median, peak.most, size, ratio)
	}
	return tw.Flush()
}
