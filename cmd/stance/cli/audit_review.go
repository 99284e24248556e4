package cli

import (
	"bytes"
	"fmt"
	"path/filepath"
	"strings"

	"github.com/spf13/cobra"

	"example.com/stance/lint"
	"example.com/stance/lint/audit"
	"example.com/stance/lint/audit/review"
	"example.com/stance/lint/audit/stat"
	"example.com/stance/lint/plural"
	"example.com/stance/lint/report"
	"example.com/stance/lint/rules"
)

type sampleOptions struct {
	inputFlags
	selectFlags
	namesFlags
	sourceFlags
	out   string
	rows  int
	seed  string
	by    *choice
	rules []string
}

// sealedEnd is the end of the name of a sealed file, which lies beside its sheet.
const sealedEnd = ".sealed"

func (a *app) auditSampleCommand() *cobra.Command {
	var opt sampleOptions
	c := &cobra.Command{
		Use:   "sample [NOTES… | --index DIR] --chart CHART --seed SEED --out SHEET.csv",
		Short: "Draw notes for a person to mark without seeing the verdict",
		Long: `sample draws pairs of a note and a rule at random, some that the rule flagged and some where it
could have spoken and did not, and writes them to a sheet. A person who knows the work marks
each row yes, no or unclear in the column mark: is what the rule looks for there? Rows stand in
an order that tells nothing. For the rules about copied notes, look earlier notes up.

What stance says is not in the sheet. It goes, packed, into a file beside it that ends in
` + sealedEnd + `, which stance audit agree needs. Give the sheet alone to whoever marks it.

The same seed draws the same rows from the same notes. With --names hide residents and authors
go under pseudonyms, also in the words of notes.

` + doneStatuses,
		Example: `  stance audit sample --chart chart.csv --n 60 --seed 2026-11 --out sheet.csv notes.jsonl
  stance audit sample --chart chart.csv --rule helpers-unstated --n 80 --seed 7 --out sheet.csv notes.jsonl`,
		Args: cobra.ArbitraryArgs,
		RunE: func(c *cobra.Command, files []string) error { return a.auditSample(c, &opt, files) },
	}
	opt.by = &choice{value: string(review.ByRule), allowed: []string{string(review.ByRule), string(review.ByGroup), string(review.ByAll)}}
	opt.sourceFlags.register(c)
	c.Flags().StringVar(&opt.out, "out", "", "`file` of the sheet, CSV, which must not be there yet")
	c.Flags().IntVarP(&opt.rows, "n", "n", 60, "rows to draw; stance audit size tells how many are wanted")
	c.Flags().StringVar(&opt.seed, "seed", "", "`word` or number that the draw follows from")
	c.Flags().Var(opt.by, "by", "what is drawn from apart: each rule, each group of rules, or all rules together")
	c.Flags().StringSliceVar(&opt.rules, "rule", nil, "only this `rule`; may be given again")
	opt.namesFlags.register(c)
	opt.inputFlags.register(c, "do not say what was drawn")
	opt.selectFlags.register(c)
	return c
}

func (a *app) auditSample(c *cobra.Command, opt *sampleOptions, files []string) error {
	switch {
	case opt.out == "":
		return usagef("want --out FILE for the sheet")
	case opt.seed == "":
		return usagef("want --seed, any word or number: the same one draws the same rows again")
	case opt.rows < 1:
		return usagef("--n %d: want at least one row", opt.rows)
	}
	sealedFile := sealedBeside(opt.out)
	for _, name := range []string{opt.out, sealedFile} {
		if err := absent("--out", name); err != nil {
			return err
		}
	}
	run, err := a.judged(c.Context(), &opt.inputFlags, &opt.namesFlags, &opt.sourceFlags, files)
	if err != nil {
		return err
	}
	defer run.close()
	sel, err := opt.ready(run.policy)
	if err != nil {
		return err
	}
	among, err := chosenRules(run.checker.Rules(), opt.rules)
	if err != nil {
		return err
	}
	draw := review.NewDraw(among, review.Options{Rows: opt.rows, Seed: opt.seed, By: review.By(opt.by.value),
		Resident: run.resident, Text: run.text, Keep: sel.place})
	if err := a.judgeAll(c.Context(), run, opt.quiet, func(j lint.Judged) error {
		draw.Add(j.Timeline, j.Counts)
		return nil
	}); err != nil {
		return err
	}
	sample, err := draw.Sample()
	if err != nil {
		return usagef("--n: %w", err)
	}
	if len(sample.Rows) == 0 {
		return usagef("there is nothing to draw: no rule met anything to judge in the notes selected")
	}
	var sheet, sealed bytes.Buffer
	if err := sample.CSV(&sheet); err != nil {
		return err
	}
	if err := sample.Seal(&sealed, review.Sealed{Version: version(), Charted: run.charted, Policy: audit.PolicyOf(run.policy),
		Names: run.marks(), Seed: opt.seed, By: review.By(opt.by.value)}); err != nil {
		return err
	}
	if err := writeNew("--out", sealedFile, sealed.Bytes()); err != nil {
		return err
	}
	if err := writeNew("--out", opt.out, sheet.Bytes()); err != nil {
		return err
	}
	if !opt.quiet {
		a.describeSample(opt, sample, sealedFile)
	}
	return run.read.err(opt.skipBad)
}

// describeSample says what was drawn, and not how much of it is flagged.
func (a *app) describeSample(opt *sampleOptions, s *review.Sample, sealedFile string) {
	width := a.width()
	if width == 0 {
		width = 80
	}
	fill := func(text string) { report.Fill(a.out, width, "", "", report.Printable(text)) }
	labels := map[string]bool{}
	for _, st := range s.Strata {
		labels[st.Label] = true
	}
	what := "rule"
	switch review.By(opt.by.value) {
	case review.ByGroup:
		what = "group of rules"
	case review.ByAll:
		what = "set of all rules"
	}
	drawn := plural.Of(len(labels), what)
	if what == "group of rules" && len(labels) != 1 {
		drawn = fmt.Sprintf("%d groups of rules", len(labels))
	}
	fill(fmt.Sprintf("Wrote %s, drawn from %s, to %s. Have the column mark filled in, yes, no or unclear, by somebody who has not seen the reports.",
		plural.Of(len(s.Rows), "row"), drawn, opt.out))
	if len(s.NotIn) > 0 {
		fill(fmt.Sprintf("Too few rows for %s; more with a larger --n, or choose with --rule.", strings.Join(s.NotIn, ", ")))
	}
	fill(fmt.Sprintf("Then: stance audit agree %s. The verdicts are in %s; leave it closed until then.", opt.out, sealedFile))
}

// chosenRules are the rules in force that are asked for; all for none.
func chosenRules(inForce []rules.Rule, ids []string) ([]rules.Rule, error) {
	if len(ids) == 0 {
		return inForce, nil
	}
	var out []rules.Rule
	for _, id := range ids {
		r, err := findRule(inForce, id)
		if err != nil {
			return nil, err
		}
		out = append(out, r)
	}
	return out, nil
}

// sealedBeside is the sealed file of a sheet.
func sealedBeside(sheet string) string {
	return strings.TrimSuffix(sheet, filepath.Ext(sheet)) + sealedEnd
}

type agreeOptions struct {
	sealed string
	format *choice
	out    string
}

func (a *app) auditAgreeCommand() *cobra.Command {
	var opt agreeOptions
	c := &cobra.Command{
		Use:   "agree MARKED.csv",
		Short: "Hold a marked sheet against the verdicts",
		Long: `agree reads a sheet that stance audit sample wrote and a person has marked, and says how far the
two agree: sensitivity, specificity and predictive values weighted back to all notes, and
Cohen's kappa, each with its interval. It lists the rows on which they differ.

` + doneStatuses,
		Example: `  stance audit agree sheet.csv
  stance audit agree --sealed sheet.sealed --format json marked.csv`,
		Args: arguments(1, 1, "the marked sheet"),
		RunE: func(c *cobra.Command, files []string) error {
			opt.format.byName(c, opt.out)
			return a.auditAgree(&opt, files[0])
		},
	}
	opt.format = formats(c, "text", "json")
	c.Flags().StringVar(&opt.sealed, "sealed", "", "`file` with the verdicts (else the one beside the sheet that ends in "+sealedEnd+")")
	c.Flags().StringVar(&opt.out, "out", "", "write the report to this `file`, which must not be there yet")
	return c
}

func (a *app) auditAgree(opt *agreeOptions, sheet string) error {
	if err := absent("--out", opt.out); err != nil {
		return err
	}
	sealedName := opt.sealed
	if sealedName == "" {
		sealedName = sealedBeside(sheet)
	}
	b, err := a.readAll(sheet, mostSheet)
	if err != nil {
		return err
	}
	marks, err := review.ReadMarked(sheet, bytes.NewReader(b))
	if err != nil {
		return usagef("%w", err)
	}
	if b, err = a.readAll(sealedName, mostSheet); err != nil {
		if opt.sealed == "" {
			return usagef("%w; want --sealed FILE, the file that stance audit sample wrote beside the sheet", err)
		}
		return err
	}
	sealed, err := review.ReadSealed(sealedName, bytes.NewReader(b))
	if err != nil {
		return usagef("%w", err)
	}
	agreement, err := review.Agree(sealed, marks)
	if err != nil {
		return usagef("%s: %w", sheet, err)
	}
	if agreement.Marked == 0 {
		return usagef("%s: no row is marked yes or no yet", sheet)
	}
	var out bytes.Buffer
	if opt.format.value == "json" {
		err = review.JSON(&out, agreement)
	} else {
		err = review.Text(&out, agreement, a.auditText(opt.out))
	}
	if err != nil {
		return err
	}
	return a.deliver(opt.format, opt.out, out.Bytes())
}

type sizeOptions struct {
	share, within, level float64
	population           int
}

func (a *app) auditSizeCommand() *cobra.Command {
	var opt sizeOptions
	c := &cobra.Command{
		Use:   "size",
		Short: "Say how many notes to review for a wanted precision",
		Long: `size tells how many notes to mark so that a share, say of flags that hold, is known to within so
many points either way. Where nothing is known of the share, 50 asks the most. Each share needs
its own: for a precise sensitivity as for a precise predictive value, and for each rule.

Source: Cochran, Sampling Techniques, third edition (1977), section 4.4.

` + doneStatuses,
		Example: `  stance audit size --within 5
  stance audit size --within 3 --share 90 --population 1200`,
		Args: arguments(0, 0, "none"),
		RunE: func(*cobra.Command, []string) error { return a.auditSize(&opt) },
	}
	c.Flags().Float64Var(&opt.within, "within", 5, "`points` per 100 that the answer may lie off either way")
	c.Flags().Float64Var(&opt.share, "share", 50, "the share that is expected, per 100")
	c.Flags().Float64Var(&opt.level, "level", 95, "how sure to be, per 100")
	c.Flags().IntVar(&opt.population, "population", 0, "how many notes there are to draw from; 0 for very many")
	return c
}

func (a *app) auditSize(opt *sizeOptions) error {
	switch {
	case !(opt.within > 0 && opt.within < 100):
		return usagef("--within %g: want a number above 0 and below 100", opt.within)
	case !(opt.share >= 0 && opt.share <= 100):
		return usagef("--share %g: want a number from 0 to 100", opt.share)
	case !(opt.level > 0 && opt.level < 100):
		return usagef("--level %g: want a number above 0 and below 100", opt.level)
	case opt.population < 0:
		return usagef("--population %d: want 0 or more", opt.population)
	}
	n := stat.SampleSize(opt.share/100, opt.within/100, opt.level/100, opt.population)
	among := ""
	if opt.population > 0 {
		among = fmt.Sprintf(" of %d", opt.population)
	}
	_, err := fmt.Fprintf(a.out, "Review %s%s, drawn at random: a share near %g %% is then known to within %g points either way, %g times in 100.\n",
		plural.Of(n, "note"), among, opt.share, opt.within, opt.level)
	return err
}
