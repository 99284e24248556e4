package cli

import (
	"bufio"
	"context"
	"errors"
	"fmt"
	"slices"
	"strconv"
	"strings"
	"time"
	"unicode"

	"github.com/spf13/cobra"

	"example.com/stance/index"
	"example.com/stance/index/homes"
	"example.com/stance/lint/nearest"
	"example.com/stance/lint/plural"
	"example.com/stance/lint/policy"
	"example.com/stance/lint/rules"
	"example.com/stance/lint/shift"
)

type findOptions struct {
	selectFlags
	policy  string
	indexes []string
	quiet   bool

	role     string
	concepts []string
	aid      string
	fields   map[string]*string // side, limb, method, assist and staff
	polarity *choice
	anyone   bool
	anyTime  bool
	planned  bool

	rule    string
	earlier bool
	order   *choice
	limit   int
	after   string
	page    int
	format  *choice
}

func (a *app) findCommand() *cobra.Command {
	opt := findOptions{fields: map[string]*string{}}
	c := &cobra.Command{
		Use:   "find [WORDS…]",
		Short: "Search kept notes by words and by what they say",
		Long: `find searches the notes that stance keep put in the index. All that is asked for has to be
met by a note.

WORDS are looked for in the text, in any of their forms or as staff write them otherwise:
walker finds 2WW and frame too. "a phrase" stands in quotes (give them to stance:
'"refused to walk"'), walk* is every word that starts so, and wlaker~ is one letter off.
At most 64 words at once, 8 of them with * or ~.

The flags from --concept to --planned ask for facts, all of one and the same statement of
the note. What is denied, past, planned or told of somebody else is left out unless it is
asked for. stance words --ids lists the concepts; bearing or aid.walker stands for all below it.

--rule finds notes that were flagged when they were kept; rules against the chart are only
among them where stance keep was given the chart.

--index may be given again, or name a folder of indexes: all are searched as one, each with its
own policy, and each note found names its home, which goes by the folder of its index. By
relevance, a word is worth the more the rarer it is in the note's home. A home that cannot be
opened is told, the others answer, and the exit status is 2 or 3.

Exit status:
  0  done, whether or not something was found
  2  wrong usage, no index there, or an index that is in use
  3  a fault inside stance, a damaged index, or stopped before the end`,
		Example: `  stance find walker --resident R-0412
  stance find --concept bearing.none --side left --order newest
  stance find '"did not walk"' --unit Birch --since 2026-11-01
  stance find --concept fall --polarity any --format csv --limit 0 > falls.csv
  stance find --concept fall --order newest --index homes`,
		RunE: func(c *cobra.Command, words []string) error { return a.find(c.Context(), &opt, words) },
	}
	f := c.Flags()
	f.SortFlags = false
	f.StringArrayVar(&opt.indexes, "index", []string{indexName}, indexHelp)
	f.StringArrayVar(&opt.concepts, "concept", nil, "says this `concept`; may be given again, any of them counts")
	f.StringVar(&opt.aid, "aid", "", "names this `aid`, in a move or by itself (walker-2w)")
	for _, field := range []struct{ name, usage string }{
		{"side", "`side` of the limb: left, right or both"},
		{"limb", "`limb` of a bearing status: leg or arm"},
		{"method", "`method` of a transfer: pivot, side-by-side, board, sit-stand-lift, total-lift or lift"},
		{"assist", "`level` of help: independent, supervision, standby, contact-guard, minimum, moderate, maximum or dependent"},
		{"staff", "`number` of helpers"},
		{"helpers", "a `group` besides staff that helped: student, family, volunteer or other-resident"},
		{"fixed", "`yes`: a hazard that was put right"},
	} {
		opt.fields[field.name] = f.String(field.name, "", field.usage)
	}
	opt.polarity = &choice{value: index.Affirmed, allowed: []string{index.Affirmed, index.Negated, index.AnyPolarity}}
	f.Var(opt.polarity, "polarity", "what is said to be so, or not to be so")
	f.BoolVar(&opt.anyone, "anyone", false, "what is said of others than the resident too")
	f.BoolVar(&opt.anyTime, "any-time", false, "what is past, planned or under a condition too")
	f.BoolVar(&opt.planned, "planned", false, "what is planned or under a condition too")
	f.StringVar(&opt.rule, "rule", "", "flagged by this `rule`")
	f.StringVar(&opt.role, "role", "", "written by a `role`: care worker, nurse, therapist, doctor or other")
	opt.selectFlags.register(c)
	f.BoolVar(&opt.earlier, "earlier", false, "earlier versions of notes that were amended too")
	opt.order = &choice{value: index.ByRelevance, allowed: []string{index.ByRelevance, index.ByTime, index.ByNewest}}
	f.Var(opt.order, "order", "what comes first")
	f.IntVar(&opt.limit, "limit", 20, "most notes to show, 0 for all")
	f.IntVar(&opt.page, "page", 1, "`number` of the page to show, where there are more notes than the limit")
	f.StringVar(&opt.after, "after", "", "for programs: go on after this `mark`, which the page before has as next in the JSON form; no note is left out or shown twice where some were kept since")
	f.StringVar(&opt.policy, "policy", "", "policy `file` (else stance.yaml beside the index, else the one that its notes were kept with)")
	f.BoolVarP(&opt.quiet, "quiet", "q", false, "print only the notes found, no counts and no hints")
	opt.format = formats(c, "text", "json", "csv")
	return c
}

func (a *app) find(ctx context.Context, opt *findOptions, words []string) error {
	if opt.limit < 0 {
		return usagef("--limit %d: want a number of notes, or 0 for all", opt.limit)
	}
	if opt.page < 1 {
		return usagef("--page %d: want a number of a page, from 1", opt.page)
	}
	if opt.page > 1 && opt.after != "" {
		return usagef("--page and --after both say where to go on, want one of them")
	}
	all, err := keptHomes(opt.indexes)
	if err != nil {
		return err
	}
	a = a.remembering()
	var asked []*askedHome
	absent, err := eachHome(ctx, all, func(h keptHome) error {
		one, err := a.askHome(ctx, opt, words, h)
		if err == nil {
			asked = append(asked, one)
		}
		return err
	})
	if err != nil {
		return err
	}
	page, failed, err := turnTo(ctx, asked, opt.page)
	if err != nil {
		return findError(err)
	}
	for _, f := range failed {
		absent = append(absent, absentee{f.Home, indexError(f.Err)})
	}
	if len(absent) == len(all) {
		return absent[0].err
	}
	if !opt.quiet {
		if err := a.sayState(asked); err != nil {
			return err
		}
	}
	a.sayAbsent(absent)
	if err := a.writeFound(ctx, opt, asked, &page, absentNames(absent)); err != nil {
		return err
	}
	return absentError(absent)
}

// An askedHome is a home that is searched.
type askedHome struct {
	keptHome
	home  *home
	sel   *selection
	query index.Query
	index *index.Index
}

// askHome makes a home ready to be asked. An Index holds nothing open, so nobody has to close it.
func (a *app) askHome(ctx context.Context, opt *findOptions, words []string, h keptHome) (*askedHome, error) {
	home, err := a.home(opt.policy, nil, h.dir)
	if err != nil {
		return nil, err
	}
	one := &askedHome{keptHome: h, home: home}
	if one.sel, err = opt.ready(home.policy); err != nil {
		return nil, err
	}
	if one.query, err = opt.query(words, one.sel); err != nil {
		return nil, err
	}
	if one.index, err = index.Open(h.dir, home.lex); err != nil {
		return nil, indexError(err)
	}
	if one.sel.day != "" {
		err := onShift(ctx, one.index, &one.query, one.sel, home.policy)
		var unknown *index.UnknownError // which the search itself meets as well
		if err != nil && !errors.As(err, &unknown) {
			return nil, findError(err)
		}
	}
	return one, nil
}

// findIn asks the homes, each by its own query, for the page that q says.
func findIn(ctx context.Context, asked []*askedHome, q index.Query) (homes.Page, []homes.Failure, error) {
	if len(asked) == 1 && asked[0].name == "" {
		page, err := asked[0].index.Find(ctx, q)
		out := homes.Page{Total: page.Total, Facets: page.Facets, Next: page.Next}
		for _, h := range page.Hits {
			out.Hits = append(out.Hits, homes.Hit{Hit: h})
		}
		return out, nil, err
	}
	var all []homes.Home
	for _, h := range asked {
		all = append(all, homes.Home{Name: h.name, Index: h.index, Query: h.query})
	}
	return homes.Find(ctx, all, homes.Ask{Order: q.Order, Limit: q.Limit, After: q.After})
}

// sayState says what had to be done to the indexes, and what should be.
func (a *app) sayState(asked []*askedHome) error {
	for _, h := range asked {
		if why := h.index.Remade(); why != "" {
			a.say("%s", why)
		}
		stale, err := h.index.Stale()
		var locked *index.LockedError // by a writer that came after the search
		if err != nil && !errors.As(err, &locked) {
			if h.name != "" {
				continue // it is among those that could not be asked
			}
			return indexError(err)
		}
		if stale {
			a.say("%s", h.home.stale(h.dir))
		}
	}
	return nil
}

// writeFound writes what was found, and which homes could not be asked.
func (a *app) writeFound(ctx context.Context, opt *findOptions, asked []*askedHome, page *homes.Page, absent []string) error {
	out := bufio.NewWriter(a.report(opt.format))
	several := asked[0].name != ""
	of := map[string]*askedHome{}
	for _, h := range asked {
		of[h.name] = h
	}
	found := found{Page: page, several: several, absent: absent, sel: func(home string) *selection { return of[home].sel }}
	var err error
	switch opt.format.value {
	case "json":
		err = findJSON(out, &found)
	case "csv":
		if err = findCSV(out, &found); err == nil && !opt.quiet && page.Next != "" {
			a.say("%s found, %d shown; the next page: %s", plural.Of(page.Total, "note"), len(page.Hits), onward(opt, page.Next))
		}
	default:
		v := &findView{w: out, found: &found, opt: a.textOptions(asked[0].home.policy), quiet: opt.quiet, facts: asksFacts(&asked[0].query), number: opt.page, onward: onward(opt, page.Next)}
		v.zone = func(home string) *time.Location { return a.textOptions(of[home].home.policy).Zone }
		switch {
		case opt.rule != "" && several:
			v.why = "stance check --index with the index of a home says why a note is flagged."
		case opt.rule != "":
			v.why = "stance check --index " + argument(asked[0].dir) + " says why a note is flagged."
		}
		if v.opt.Width == 0 {
			v.opt.Width = 80
		}
		if page.Total == 0 && !opt.quiet {
			if v.wider, err = widen(ctx, asked, &opt.selectFlags); err != nil {
				return findError(err)
			}
		}
		v.page()
	}
	if err != nil {
		return err
	}
	return out.Flush()
}

// turnTo finds the page of that number, from 1, of what the homes are asked. A page behind the last has no notes.
func turnTo(ctx context.Context, asked []*askedHome, number int) (homes.Page, []homes.Failure, error) {
	q := asked[0].query
	for n := 1; ; n++ {
		page, failed, err := findIn(ctx, asked, q)
		if err != nil || n == number {
			return page, failed, err
		}
		if page.Next == "" {
			page.Hits = nil
			return page, failed, nil
		}
		q.After = page.Next
	}
}

// onward is the flag that leads to the next page. Whoever came by a mark goes on by one.
func onward(opt *findOptions, next string) string {
	if opt.after != "" {
		return "--after " + next
	}
	return fmt.Sprintf("--page %d", opt.page+1)
}

// allNotes is a page that holds any number of notes.
const allNotes = 1 << 30

// query is what the flags ask for, but for the day of a shift.
func (opt *findOptions) query(words []string, sel *selection) (index.Query, error) {
	q := index.Query{
		Words: strings.Join(words, " "), Resident: opt.resident, Unit: opt.unit, Shift: sel.shiftName, Role: opt.role,
		Concepts: opt.concepts, Aid: opt.aid, Fields: map[string]string{}, Polarity: opt.polarity.value,
		Anyone: opt.anyone, AnyTime: opt.anyTime, Planned: opt.planned, Rule: opt.rule,
		Earlier: opt.earlier, Order: opt.order.value, After: opt.after, Limit: opt.limit,
	}
	if opt.limit == 0 {
		q.Limit = allNotes
	}
	if strings.TrimSpace(q.Words) != "" && !strings.ContainsFunc(q.Words, inWord) {
		return q, usagef("%q has no word in it, want words to look for", q.Words)
	}
	if n, err := strconv.Atoi(*opt.fields["staff"]); *opt.fields["staff"] != "" && (err != nil || n < 0) {
		return q, usagef("--staff %q: want a number of helpers, 0 or more", *opt.fields["staff"])
	}
	for name, value := range opt.fields {
		if *value != "" {
			q.Fields[name] = *value
		}
	}
	if sel.sinceGiven {
		q.Since = sel.since
	}
	if sel.untilGiven {
		q.Until = sel.end
	}
	if !asksFacts(&q) && (q.Polarity == index.AnyPolarity || q.Anyone || q.AnyTime || q.Planned) {
		return q, usagef("--polarity, --anyone, --any-time and --planned say which facts count, want --concept, --aid or another fact with them")
	}
	all, err := rules.All()
	if err != nil {
		return q, err
	}
	var known []string
	for _, r := range all {
		known = append(known, r.ID)
	}
	if q.Rule != "" && !slices.Contains(known, q.Rule) {
		e := &index.UnknownError{What: "rule", Value: q.Rule}
		e.Nearest, _ = nearest.Of(q.Rule, known)
		return q, findError(e)
	}
	return q, nil
}

// inWord reports whether r is of those that words are made of.
func inWord(r rune) bool { return unicode.IsLetter(r) || unicode.IsNumber(r) }

// asksFacts reports whether a query asks what notes say, and not only for their words.
func asksFacts(q *index.Query) bool {
	return len(q.Concepts) > 0 || len(q.Fields) > 0 || q.Aid != "" || q.Polarity == index.Negated
}

// findError gives the errors of a query that are the user's the status of wrong usage. Where no known
// value is near, it says where they are listed.
func findError(err error) error {
	var unknown *index.UnknownError
	if errors.Is(err, index.ErrAfter) {
		return usagef("--after: %w; leave it out to start from the first page", err)
	}
	if !errors.As(err, &unknown) || unknown.Nearest != "" {
		return indexError(err)
	}
	switch unknown.What {
	case "concept", "aid":
		return usagef("%w; stance words --ids lists the concepts", err)
	case "rule":
		return usagef("%w; stance rules lists the rules", err)
	case "resident", "unit":
		return usagef("%w; stance find with no words counts the notes by %s", err, unknown.What)
	}
	return usagef("%w; stance find --help lists the values", err)
}

// onShift narrows a query to the day of the selected shift. Where the policy names no zone, a note
// keeps the wall clock that it was written by, so a note of about that day tells which that is.
func onShift(ctx context.Context, x *index.Index, q *index.Query, sel *selection, p *policy.Policy) error {
	cal := sel.calendar
	if p.Zone == nil || p.Zone == time.Local {
		near, in := *q, sel.span()
		near.Since, near.Until, near.Limit, near.After = in.since, in.until, 1, ""
		page, err := x.Find(ctx, near)
		if err != nil {
			return err
		}
		if len(page.Hits) > 0 {
			if cal, err = shift.NewCalendar(p.Shifts, page.Hits[0].Note.Time.Location()); err != nil {
				return usagef("%w", err)
			}
		}
	}
	since, until, err := shiftTimes(cal, sel.day, sel.shiftName)
	if err != nil {
		return err
	}
	if since.After(q.Since) {
		q.Since = since
	}
	if q.Until.IsZero() || until.Before(q.Until) {
		q.Until = until
	}
	return nil
}

// shiftTimes bounds the times of the notes that may belong to a day's shift of that name: from when a
// note that states the name belongs to this one, to when it belongs to the next day's.
func shiftTimes(cal *shift.Calendar, day, name string) (since, until time.Time, err error) {
	date, err := time.Parse(time.DateOnly, day)
	if err != nil {
		return since, until, err
	}
	bound := func(date time.Time) (time.Time, error) {
		want := date.Format(time.DateOnly) + "/" + name
		k := cal.Key(date.AddDate(0, 0, -1), name)
		for range 5 * len(cal.Names()) { // from a day or two before
			if k.String() == want {
				return cal.Start(k).Add(-statedEarly), nil
			}
			k = cal.Next(k)
		}
		return time.Time{}, fmt.Errorf("no shift %s in the calendar", want)
	}
	if since, err = bound(date); err != nil {
		return since, until, err
	}
	until, err = bound(date.AddDate(0, 0, 1))
	return since, until, err
}

// statedEarly is how long before its start a note may state a shift; see shift.Calendar.Key.
const statedEarly = 4 * time.Hour

// widen says which change of a query that found nothing finds something.
func widen(ctx context.Context, asked []*askedHome, selected *selectFlags) ([]string, error) {
	q := asked[0].query
	facts := asksFacts(&q)
	var times []string
	for _, f := range []struct{ name, value string }{
		{"--since", selected.since}, {"--until", selected.until}, {"--shift", selected.shift},
	} {
		if f.value != "" {
			times = append(times, f.name)
		}
	}
	var wider []string
	for _, way := range []struct {
		how    string
		useful bool
		change func(*index.Query)
	}{
		{"with --polarity any", facts && q.Polarity != index.AnyPolarity, func(q *index.Query) { q.Polarity = index.AnyPolarity }},
		{"with --planned", facts && !q.Planned && !q.AnyTime, func(q *index.Query) { q.Planned = true }},
		{"with --any-time", facts && !q.AnyTime, func(q *index.Query) { q.AnyTime = true }},
		{"with --anyone", facts && !q.Anyone, func(q *index.Query) { q.Anyone = true }},
		{"with --earlier", !q.Earlier, func(q *index.Query) { q.Earlier = true }},
		{"without --resident", q.Resident != "", func(q *index.Query) { q.Resident = "" }},
		{"without --unit", q.Unit != "", func(q *index.Query) { q.Unit = "" }},
		{"without --role", q.Role != "", func(q *index.Query) { q.Role = "" }},
		{"without --rule", q.Rule != "", func(q *index.Query) { q.Rule = "" }},
		{"without " + strings.Join(times, " and "), len(times) > 0, func(q *index.Query) {
			q.Shift, q.Since, q.Until = "", time.Time{}, time.Time{}
		}},
		{"without the words", q.Words != "" && (facts || q.Rule != ""), func(q *index.Query) { q.Words = "" }},
	} {
		if !way.useful {
			continue
		}
		wide := make([]*askedHome, len(asked))
		for i, h := range asked {
			one := *h
			one.query.Limit, one.query.After = 1, ""
			way.change(&one.query)
			wide[i] = &one
		}
		page, _, err := findIn(ctx, wide, wide[0].query) // of those who cannot answer it has been told
		if err != nil {
			return nil, err
		}
		if page.Total > 0 {
			wider = append(wider, fmt.Sprintf("%d %s", page.Total, way.how))
		}
	}
	return wider, nil
}
