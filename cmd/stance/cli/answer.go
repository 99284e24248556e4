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
)

type answerOptions struct {
	file, why, by string
	as            *choice
}

func (a *app) answerCommand() *cobra.Command {
	var opt answerOptions
	c := &cobra.Command{
		Use:   "answer FINDING --answers FILE",
		Short: "Record what was made of a finding",
		Long: `answer adds what was made of a finding to a file of answers, which stance check --answers
reads. FINDING is the id that stance check shows with --answers or --format json. It is

  confirmed  it is so, and has been seen to
  amended    the record has been put right
  mistaken   the finding is wrong

Answers are only ever added; of two to one finding the later counts. Each line carries a
hash of the one before, so that a line that was changed or taken out shows.

Exit status:
  0  the answer is on the disk
  2  wrong usage, or a file of answers that cannot be read or written
  3  a fault inside stance, or stopped before the end`,
		Example: `  stance check --chart chart.csv --answers answers.jsonl notes.jsonl
  stance answer 3f9c0a1b7d24e865 --answers answers.jsonl --as amended \
    --why "late entry added" --by "charge nurse"`,
		Args: arguments(1, 1, "the id of one finding"),
		RunE: func(_ *cobra.Command, args []string) error { return a.answer(&opt, args[0]) },
	}
	opt.as = &choice{}
	for _, v := range finding.Verdicts() {
		opt.as.allowed = append(opt.as.allowed, string(v))
	}
	c.Flags().StringVar(&opt.file, "answers", "", "`file` of the answers, made where there is none")
	c.Flags().Var(opt.as, "as", "what it proved to be")
	c.Flags().StringVar(&opt.why, "why", "", "the reason, as `text`")
	c.Flags().StringVar(&opt.by, "by", "", "`who` answers")
	return c
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
	_, err = fmt.Fprintf(a.out, "Finding %s answered: %s.\n", id, opt.as.value)
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
