package cli

import (
	"errors"
	"fmt"
	"io/fs"
	"os"
	"strings"

	"github.com/spf13/cobra"

	"example.com/stance/lint/answers"
	"example.com/stance/lint/finding"
	"example.com/stance/lint/plural"
)

type answerOptions struct {
	file, why, by string
	as            *choice
	seal          bool
	against       string
}

func (a *app) answerCommand() *cobra.Command {
	var opt answerOptions
	c := &cobra.Command{
		Use:   "answer (FINDING | --seal | --against HASH) --answers FILE",
		Short: "Record what was made of a finding",
		Long: `answer adds what was made of a finding to a file of answers, which stance check --answers
reads. FINDING is the id that stance check shows with --answers or --format json. It is

  confirmed  it is so, and has been seen to
  amended    the record has been put right
  mistaken   the finding is wrong
  looking    it is being looked into, and stays open

Answers are only ever added; of two to one finding the later counts. Each line carries a
hash of the one before, so that a line that was changed, moved or taken out from among the
others shows. Two things the file cannot show by itself: that its last lines were taken
out, and that somebody wrote all of it anew. For these, --seal prints the last hash; keep
it where whoever can write the file cannot change it. Later --against HASH says whether all
that was sealed is still there as it was.

Exit status:
  0  the answer is on the disk
  2  wrong usage, a file of answers that cannot be read or written, or one that has lost
     what was sealed
  3  a fault inside stance, or stopped before the end`,
		Example: `  stance check --chart chart.csv --answers answers.jsonl notes.jsonl
  stance answer 3f9c0a1b7d24e865 --answers answers.jsonl --as amended \
    --why "late entry added" --by "charge nurse"
  stance answer --seal --answers answers.jsonl`,
		Args: arguments(0, 1, "the id of one finding"),
		RunE: func(_ *cobra.Command, args []string) error {
			switch {
			case opt.seal || opt.against != "":
				return a.seal(&opt, args)
			case len(args) == 0:
				return usagef("want the id of one finding, or --seal or --against HASH")
			}
			return a.answer(&opt, args[0])
		},
	}
	opt.as = &choice{}
	for _, v := range finding.Verdicts() {
		opt.as.allowed = append(opt.as.allowed, string(v))
	}
	c.Flags().StringVar(&opt.file, "answers", "", "`file` of the answers, made where there is none")
	c.Flags().Var(opt.as, "as", "what it proved to be")
	c.Flags().StringVar(&opt.why, "why", "", "the reason, as `text`")
	c.Flags().StringVar(&opt.by, "by", "", "`who` answers")
	c.Flags().BoolVar(&opt.seal, "seal", false, "print the last hash, to be kept elsewhere")
	c.Flags().StringVar(&opt.against, "against", "", "say whether all is there that was sealed with this `hash`")
	return c
}

// seal prints what stands for all answers given so far, and holds the file against an earlier seal.
func (a *app) seal(opt *answerOptions, args []string) error {
	switch {
	case len(args) > 0 || opt.as.value != "" || opt.why != "" || opt.by != "":
		return usagef("--seal and --against add no answer, want them with --answers FILE alone")
	case opt.file == "":
		return usagef("want --answers FILE, the file of answers")
	case opt.against != "" && !answers.IsSeal(opt.against):
		return usagef("--against %q: want a hash as --seal prints it, 64 digits of 0-9 and a-f", opt.against)
	}
	b, err := a.answers(opt.file)
	if err != nil {
		return err
	}
	all := b.Entries()
	if opt.against != "" {
		later, ok := b.Since(opt.against)
		if !ok {
			return usagef("%s: what was sealed is no longer in it: its last lines were taken out, or it was written anew; put a copy back that passes, and add the answers given since",
				opt.file)
		}
		if _, err := fmt.Fprintf(a.out, "All that was sealed is there as it was: %s. Given since: %d.\n", plural.Of(len(all)-later, "answer"), later); err != nil {
			return err
		}
	}
	if !opt.seal {
		return nil
	}
	if len(all) == 0 {
		return usagef("%s: no answers in it yet, nothing to seal", opt.file)
	}
	_, err = fmt.Fprintf(a.out, "Seal of %s, to be kept elsewhere:\n%s\n", plural.Of(len(all), "answer"), b.Seal())
	return err
}

func (a *app) answer(opt *answerOptions, id string) error {
	switch {
	case !finding.IsID(id):
		return usagef("%q is no finding's id, want 16 digits of 0-9 and a-f; stance check --answers shows it", id)
	case opt.file == "":
		return usagef("want --answers FILE, the file to add the answer to")
	case opt.as.value == "":
		return usagef("want --as %s", list(opt.as.allowed))
	case strings.TrimSpace(opt.why) == "":
		return usagef("want --why TEXT, the reason for the answer")
	case strings.TrimSpace(opt.by) == "":
		return usagef("want --by WHO, who gives the answer")
	}
	_, err := awaited(a.stop, func() (struct{}, error) { // other writers may keep it waiting
		return struct{}{}, answers.Append(opt.file, id, finding.Answer{
			As: finding.Verdict(opt.as.value), Why: opt.why, By: opt.by, Time: a.now(),
		})
	})
	var broken *answers.BrokenError
	var path *fs.PathError
	switch {
	case errors.As(err, &broken):
		return usagef("%w; nothing was added", err)
	case errors.As(err, &path):
		return usagef("%s: %w", opt.file, path.Err)
	case err != nil:
		return usagef("answer not taken: %w", err)
	}
	_, err = fmt.Fprintf(a.out, "Finding %s answered: %s.\n", id, finding.Verdict(opt.as.value).Said())
	return err
}

// answers reads a file of answers. No name, and a file that is not there, are none.
func (a *app) answers(name string) (*answers.Book, error) {
	if name == "" {
		return &answers.Book{}, nil
	}
	if _, err := os.Stat(name); name != stdinName && errors.Is(err, fs.ErrNotExist) {
		return &answers.Book{}, nil
	}
	f, err := a.open(name)
	if err != nil {
		return nil, err
	}
	defer f.Close()
	b, err := answers.Read(name, f)
	if err != nil {
		return nil, usagef("%w", err)
	}
	if n := b.Torn(); n > 0 {
		a.say("%s:%d: the last line was not written to its end and is left out; the next answer replaces it", name, n)
	}
	return b, nil
}
