package ready

import (
	"fmt"
	"maps"
	"slices"
	"strings"
	"time"

	"example.com/stance/lint/nearest"
	"example.com/stance/lint/plural"
)

// Problems is all that is wrong or worth a look, in a fixed order: policy and times, notes, chart.
func (s *Setup) Problems() []Problem {
	var out []Problem
	add := func(p *Problem) {
		if p != nil {
			out = append(out, *p)
		}
	}
	for _, p := range s.times() {
		add(p)
	}
	if s.notes == 0 {
		add(&Problem{"no-notes", true, "There is no note that can be read.", "Say where the notes are: stance ready FOLDER, or the files themselves."})
		return out
	}
	for _, p := range []*Problem{s.shiftNames(), s.shiftHours(), s.ahead(), s.midnights(), s.gaps(), s.twice(), s.columns(), s.others(), s.roles(),
		s.spelling("units", "unit", slices.Collect(maps.Keys(s.allUnits()))), s.spelling("residents", "resident", s.allResidents()), s.settings()} {
		add(p)
	}
	if s.chart == nil {
		add(&Problem{"no-chart", false, "No chart was given, so nothing will be held against one: the rules that need one stay silent.", "Give the charted status with --chart."})
		return out
	}
	for _, p := range []*Problem{s.uncharted(), s.unused(), s.lapsed()} {
		add(p)
	}
	return out
}

// times looks at the zone and the shifts of the policy.
func (s *Setup) times() []*Problem {
	var zone, offsets, long *Problem
	if s.policy.Zone == time.Local {
		zone = &Problem{ID: "zone-unset", Wrong: s.survey.NoZone > 0,
			What: "The policy names no time zone, so the clock of this machine counts.", Do: "Write the home's zone into stance.yaml, as in: zone: America/Toronto"}
		if s.survey.NoZone > 0 {
			zone.What += fmt.Sprintf(" %s written without an offset from UTC, and on another machine may fall on another shift.", are(s.survey.NoZone, "note"))
		}
	}
	if n := sum(s.offsets); n > 0 {
		offsets = &Problem{"zone-differs", true,
			fmt.Sprintf("%s written at %s, which is not the time of %s, the zone of the policy.", are(n, "note"), names(slices.Sorted(maps.Keys(s.offsets))), s.policy.Zone),
			"Put the right zone into stance.yaml, or have the notes exported with the home's time."}
	}
	const longest = 13 * time.Hour
	for _, name := range s.calendar.Names() {
		k := s.calendar.Key(time.Date(2026, 1, 15, 12, 0, 0, 0, time.UTC), name)
		if length := s.calendar.Start(s.calendar.Next(k)).Sub(s.calendar.Start(k)); length > longest && len(s.calendar.Names()) > 1 {
			long = &Problem{"shift-long", true, fmt.Sprintf("The shift %q of the policy runs for %d hours, until the next one starts.", name, int(length.Hours())),
				"Put all shifts into stance.yaml, each with the hour at which it starts."}
		}
	}
	return []*Problem{zone, offsets, long}
}

func (s *Setup) shiftNames() *Problem {
	if len(s.unknown) == 0 {
		return nil
	}
	return &Problem{"shift-unknown", true, fmt.Sprintf("%s a shift that the policy does not have: %s. The hour of the note counts in its place.",
		verb(sum(s.unknown), "note states", "notes state"), names(quoted(slices.Sorted(maps.Keys(s.unknown))))),
		fmt.Sprintf("Name the shifts in stance.yaml as the notes do; now it has %s.", names(quoted(s.calendar.Names())))}
}

// shiftHours holds stated shifts against the hours of the notes. Some are written late; many are a sign of other hours.
func (s *Setup) shiftHours() *Problem {
	const fewest, share = 10, 0.2
	if s.staged < fewest || float64(s.misfit) < share*float64(s.staged) {
		return nil
	}
	return &Problem{"shift-hours", true, fmt.Sprintf("%d of %s with a shift were written outside of its hours by the policy.", s.misfit, counted(s.staged)),
		"Put the hours at which the home's shifts start into stance.yaml, and look whether zone is right."}
}

func (s *Setup) ahead() *Problem {
	if s.future == 0 {
		return nil
	}
	return &Problem{"notes-in-future", true, fmt.Sprintf("%s still to come; the last is of %s, and this machine's clock says %s.",
		are(s.future, "note"), s.last.Format("2 January 2006, 15:04"), s.now.In(s.last.Location()).Format("2 January 2006, 15:04")),
		"Put the clock of the machine right, or the times of those notes; stance check names them."}
}

func (s *Setup) midnights() *Problem {
	const fewest, share = 10, 0.9
	if s.notes < fewest || float64(s.midnight) < share*float64(s.notes) {
		return nil
	}
	return &Problem{"no-time-of-day", true, fmt.Sprintf("%d of %s are of midnight, so the export seems to have lost the time of day, and with it the shift.", s.midnight, counted(s.notes)),
		"Have date and time exported in one column."}
}

// gaps looks for days without any note, and for shifts that mostly have some.
func (s *Setup) gaps() *Problem {
	const fewest, mostly = 5, 0.8
	if len(s.days) < fewest {
		return nil
	}
	days := slices.Sorted(maps.Keys(s.days))
	var missing []string
	for d := days[0]; d <= days[len(days)-1]; d++ {
		if !s.days[d] {
			missing = append(missing, dayName(d))
		}
	}
	for _, name := range s.calendar.Names() {
		on := s.onShift[name]
		if float64(len(on)) < mostly*float64(len(days)) {
			continue
		}
		for _, d := range days[1 : len(days)-1] { // the first and the last may be cut
			if !on[d] {
				missing = append(missing, name+" shift of "+dayName(d))
			}
		}
	}
	if len(missing) == 0 {
		return nil
	}
	return &Problem{"gaps", true, fmt.Sprintf("There is no note at all of: %s.", names(missing)),
		"Look whether an export was missed or cut; what is missing is found fault with as silence, or not at all."}
}

func dayName(day int) string {
	return time.Unix(int64(day)*24*60*60, 0).UTC().Format("2 January 2006")
}

func (s *Setup) twice() *Problem {
	var ids []string
	for k, n := range s.ids {
		if n > 1 {
			ids = append(ids, fmt.Sprintf("%s on %s", k.id, k.resident))
		}
	}
	if len(ids) == 0 {
		return nil
	}
	slices.Sort(ids)
	return &Problem{"notes-twice", true, fmt.Sprintf("%s more than once: %s.", verb(len(ids), "note stands", "notes stand"), names(ids)),
		"Give each file once, and each note an id of its own."}
}

// columns tells of a column that was meant to be a field.
func (s *Setup) columns() *Problem {
	var meant []string
	for _, field := range s.lacking() {
		if column, ok := nearest.Of(field, s.survey.Others); ok {
			meant = append(meant, fmt.Sprintf("%s looks like %s", quoted([]string{column})[0], field))
		}
	}
	if len(meant) == 0 {
		return nil
	}
	return &Problem{"column-unknown", true, fmt.Sprintf("The notes have a column that is not read: %s.", names(meant)),
		"Name it with --column, as in --column unit=Ward, or call it so in the export."}
}

// lacking are the fields that no file has.
func (s *Setup) lacking() []string {
	var out []string
	for _, field := range []string{"note", "unit", "shift", "role", "author"} {
		if s.survey.Fields != nil && !s.survey.Fields[field] {
			out = append(out, field)
		}
	}
	return out
}

// others tells what is passed over, and what notes do not say at all.
func (s *Setup) others() *Problem {
	lacking := slices.DeleteFunc(s.lacking(), func(f string) bool { return f == "author" || f == "shift" })
	var said []string
	if len(s.survey.Others) > 0 {
		said = append(said, fmt.Sprintf("Not read of the notes: %s.", names(quoted(s.survey.Others))))
	}
	if len(lacking) > 0 {
		said = append(said, fmt.Sprintf("The notes do not have: %s.", strings.Join(lacking, ", ")))
	}
	if len(said) == 0 {
		return nil
	}
	return &Problem{"columns", false, strings.Join(said, " "), "Where one holds what stance reads, name it with --column; without note, an id is made from the text."}
}

func (s *Setup) roles() *Problem {
	if len(s.survey.Titles) == 0 {
		return nil
	}
	return &Problem{"role-unknown", true, fmt.Sprintf("%s a job title that is not known, so that its writer counts as somebody else: %s.",
		verb(sum(s.survey.Titles), "note has", "notes have"), names(quoted(slices.Sorted(maps.Keys(s.survey.Titles))))),
		"Say in stance.yaml what each is, as in: roles: {activation worker: care worker}"}
}

func (s *Setup) allUnits() map[string]bool {
	all := map[string]bool{}
	for u := range s.units {
		all[u] = true
	}
	for _, id := range s.chart.Residents() {
		for _, row := range s.chart.Rows(id) {
			if row.Unit != "" {
				all[row.Unit] = true
			}
		}
	}
	return all
}

func (s *Setup) allResidents() []string {
	return append(slices.Collect(maps.Keys(s.residents)), s.chart.Residents()...)
}

// spelling tells of names that differ by case, blanks or hyphens alone, and so are two where one is meant.
func (s *Setup) spelling(id, what string, all []string) *Problem {
	slices.Sort(all)
	all = slices.Compact(all)
	by := map[string][]string{}
	for _, name := range all {
		folded := strings.NewReplacer("-", "", "_", "", ".", "").Replace(strings.Join(strings.Fields(strings.ToLower(name)), ""))
		by[folded] = append(by[folded], name)
	}
	var pairs []string
	for _, folded := range slices.Sorted(maps.Keys(by)) {
		if len(by[folded]) > 1 {
			pairs = append(pairs, strings.Join(quoted(by[folded]), " and "))
		}
	}
	if len(pairs) == 0 {
		return nil
	}
	return &Problem{id + "-spelt-differently", true, fmt.Sprintf("Names of a %s that differ by spelling alone count as different ones: %s.", what, names(pairs)),
		"Spell them alike in the notes and in the chart."}
}

// settings looks whether the units that the policy sets something for are there.
func (s *Setup) settings() *Problem {
	units := s.allUnits()
	var missing []string
	for unit := range s.policy.Settings {
		if !slices.ContainsFunc(slices.Collect(maps.Keys(units)), func(u string) bool { return strings.EqualFold(u, unit) }) {
			missing = append(missing, unit)
		}
	}
	if len(missing) == 0 {
		return nil
	}
	slices.Sort(missing)
	return &Problem{"unit-unknown", true, fmt.Sprintf("The policy has settings for a unit of which there is neither a note nor a row of the chart: %s.", names(quoted(missing))),
		"Spell it under settings as the notes do, or take it out."}
}

func (s *Setup) uncharted() *Problem {
	var ids []string
	for id := range s.residents {
		if len(s.chart.Rows(id)) == 0 {
			ids = append(ids, id)
		}
	}
	if len(ids) == 0 {
		return nil
	}
	slices.Sort(ids)
	return &Problem{"resident-uncharted", true, fmt.Sprintf("%s notes and no row of the chart, so nothing of theirs is held against one: %s.", verb(len(ids), "resident has", "residents have"), names(ids)),
		"Add their rows to the chart, or spell their ids there as the notes do."}
}

// unused tells of residents whose status was in force during the notes, and of whom there is none.
func (s *Setup) unused() *Problem {
	var strangers []string
	for id := range s.residents {
		if len(s.chart.Rows(id)) == 0 {
			strangers = append(strangers, id)
		}
	}
	slices.Sort(strangers)
	var ids []string
	for _, id := range s.chart.Residents() {
		rows := s.chart.Rows(id)
		last := rows[len(rows)-1]
		if s.residents[id] != nil || rows[0].From.After(s.last) || !last.Until.IsZero() && last.Until.Before(s.first) {
			continue
		}
		if meant, ok := nearest.Of(id, strangers); ok {
			id = fmt.Sprintf("%s (is it %s?)", id, meant)
		}
		ids = append(ids, id)
	}
	if len(ids) == 0 {
		return nil
	}
	return &Problem{"chart-unused", true, fmt.Sprintf("%s rows in the chart and no note: %s.", verb(len(ids), "resident has", "residents have"), names(ids)),
		"Look whether the id is spelt as in the notes; end the row of who has left, with an until."}
}

// lapsed tells of notes at whose time no row of the chart was in force.
func (s *Setup) lapsed() *Problem {
	n := 0
	var ids []string
	for id, r := range s.residents {
		if r.outside > 0 && len(s.chart.Rows(id)) > 0 {
			n += r.outside
			ids = append(ids, id)
		}
	}
	if n == 0 {
		return nil
	}
	slices.Sort(ids)
	return &Problem{"chart-gap", true, fmt.Sprintf("%s of a time at which no row of the chart is in force, of %s: %s.", are(n, "note"), plural.Of(len(ids), "resident"), names(ids)),
		"Add the row that held then, or take away the until of the one before it."}
}

func sum(counts map[string]int) int {
	n := 0
	for _, c := range counts {
		n += c
	}
	return n
}

// are is "1 note is", "2 notes are".
func are(n int, noun string) string { return verb(n, noun+" is", noun+"s are") }

func verb(n int, one, many string) string {
	if n == 1 {
		return "1 " + one
	}
	return fmt.Sprintf("%d %s", n, many)
}
