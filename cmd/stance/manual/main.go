// Manual writes what goes with the program where it is installed, from the commands' own texts: a man page for each
// command and, for each shell, what it needs to complete names. The folder must not be there yet.
//
//	go run ./cmd/stance/manual FOLDER
//
// The date of the pages is SOURCE_DATE_EPOCH or, where that is not set, 1 January 1970, so that they are the same each
// time.
package main

import (
	"bytes"
	"fmt"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"time"

	"github.com/spf13/cobra"
	"github.com/spf13/cobra/doc"
	"github.com/spf13/pflag"

	"example.com/stance/cmd/stance/cli"
)

func main() {
	if len(os.Args) != 2 {
		fmt.Fprintln(os.Stderr, "usage: go run ./cmd/stance/manual FOLDER")
		os.Exit(2)
	}
	if err := run(os.Args[1], os.Getenv("SOURCE_DATE_EPOCH")); err != nil {
		fmt.Fprintf(os.Stderr, "manual: %v\n", err)
		os.Exit(1)
	}
}

// run writes the folder. epoch is seconds since 1970, or empty.
func run(dir, epoch string) error {
	seconds := int64(0)
	if epoch != "" {
		var err error
		if seconds, err = strconv.ParseInt(epoch, 10, 64); err != nil {
			return fmt.Errorf("SOURCE_DATE_EPOCH %q: want seconds since 1970", epoch)
		}
	}
	if err := os.Mkdir(dir, 0o755); err != nil {
		return err
	}
	man := filepath.Join(dir, "man")
	if err := os.Mkdir(man, 0o755); err != nil {
		return err
	}
	root := cli.Commands()
	if err := completions(root, dir); err != nil {
		return err
	}
	prepare(root)
	date := time.Unix(seconds, 0).UTC()
	return doc.GenManTree(root, &doc.GenManHeader{Section: "1", Date: &date, Source: "stance", Manual: "stance"}, man)
}

// completions writes a file for each shell, by the name that the shell looks for.
func completions(root *cobra.Command, dir string) error {
	for name, write := range map[string]func(*bytes.Buffer) error{
		"stance.bash": func(b *bytes.Buffer) error { return root.GenBashCompletionV2(b, true) },
		"_stance":     func(b *bytes.Buffer) error { return root.GenZshCompletion(b) },
		"stance.fish": func(b *bytes.Buffer) error { return root.GenFishCompletion(b, true) },
		"stance.ps1":  func(b *bytes.Buffer) error { return root.GenPowerShellCompletionWithDesc(b) },
	} {
		var b bytes.Buffer
		if err := write(&b); err != nil {
			return err
		}
		if err := os.WriteFile(filepath.Join(dir, name), b.Bytes(), 0o644); err != nil {
			return err
		}
	}
	return nil
}

// prepare makes the texts of a command and those below it ready for pages, whose library takes texts for Markdown:
// indented lines are set as they are, and what would be formatting is text.
func prepare(c *cobra.Command) {
	c.DisableAutoGenTag = true
	c.Long = asMarkdown(c.Long)
	c.LocalFlags().VisitAll(func(f *pflag.Flag) {
		if words := f.Value.Type(); strings.Contains(words, "|") { // one of a few words, which the page does not say by itself
			f.Usage += " (" + strings.ReplaceAll(words, "|", ", ") + ")"
		}
	})
	for _, sub := range c.Commands() {
		prepare(sub)
	}
}

func asMarkdown(text string) string {
	var out []string
	block := false
	for line := range strings.Lines(text) {
		line = strings.TrimRight(line, "\n")
		indented := strings.HasPrefix(line, "  ")
		switch {
		case indented && !block:
			out = append(out, "")
			fallthrough
		case indented:
			out = append(out, "  "+line)
		default:
			if block && line != "" {
				out = append(out, "")
			}
			out = append(out, strings.NewReplacer(`\`, `\\`, "*", `\*`, "_", `\_`, "<", `\<`, "`", "\\`").Replace(line))
		}
		block = indented
	}
	return strings.Join(out, "\n")
}
