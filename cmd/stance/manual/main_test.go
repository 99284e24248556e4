package main

import (
	"bytes"
	"context"
	"io/fs"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"

	"github.com/spf13/cobra"
	"github.com/spf13/pflag"

	"example.com/stance/cmd/stance/cli"
)

func made(t *testing.T) string {
	t.Helper()
	dir := filepath.Join(t.TempDir(), "manual")
	if err := run(dir, "1795000000"); err != nil {
		t.Fatal(err)
	}
	return dir
}

func content(t *testing.T, name string) string {
	t.Helper()
	b, err := os.ReadFile(name)
	if err != nil {
		t.Fatal(err)
	}
	return string(b)
}

// Each command has a page, with all of its flags and its examples.
func TestPages(t *testing.T) {
	dir := filepath.Join(made(t), "man")
	pages := 0
	var walk func(c *cobra.Command)
	walk = func(c *cobra.Command) {
		if !c.IsAvailableCommand() || c.Name() == "help" {
			return
		}
		pages++
		name := strings.ReplaceAll(c.CommandPath(), " ", "-") + ".1"
		page := content(t, filepath.Join(dir, name))
		plain := strings.NewReplacer(`\-`, "-", `\fB`, "", `\fP`, "", `\fR`, "").Replace(page)
		c.LocalFlags().VisitAll(func(f *pflag.Flag) {
			if !strings.Contains(plain, "--"+f.Name) {
				t.Errorf("%s does not name --%s", name, f.Name)
			}
			for word := range strings.SplitSeq(f.Value.Type(), "|") {
				if strings.Contains(f.Value.Type(), "|") && !strings.Contains(plain, word) {
					t.Errorf("%s does not say that --%s may be %s", name, f.Name, word)
				}
			}
		})
		for line := range strings.Lines(c.Example) {
			if !strings.Contains(plain, strings.TrimSpace(line)) {
				t.Errorf("%s lacks the example %q", name, line)
			}
		}
		if !strings.Contains(page, `"Nov 2026"`) || !strings.Contains(plain, c.Short) {
			t.Errorf("%s has not its date and what it is for", name)
		}
		for _, sub := range c.Commands() {
			walk(sub)
		}
	}
	root := cli.Commands()
	pages++
	for _, c := range root.Commands() {
		walk(c)
	}
	if all, err := os.ReadDir(dir); err != nil || len(all) != pages {
		t.Errorf("%d pages, want %d; %v", len(all), pages, err)
	}
	if page := content(t, filepath.Join(dir, "stance.1")); !strings.Contains(page, "licensed practice decide") {
		t.Error("the first page lacks the caution")
	}
}

// The exit statuses stand one a line, as groff sets them, and groff has nothing to remark.
func TestSet(t *testing.T) {
	groff, err := exec.LookPath("groff")
	if err != nil {
		t.Skip("no groff")
	}
	pages, err := filepath.Glob(filepath.Join(made(t), "man", "*.1"))
	if err != nil {
		t.Fatal(err)
	}
	for _, page := range pages {
		var out, errs bytes.Buffer
		c := exec.CommandContext(context.Background(), groff, "-man", "-Tutf8", "-k", "-ww", "-rLL=100n", page)
		c.Stdout, c.Stderr = &out, &errs
		if err := c.Run(); err != nil || strings.Contains(errs.String(), "warning") {
			t.Errorf("%s: %v %s", filepath.Base(page), err, errs.String())
		}
		if filepath.Base(page) == "stance-check.1" && !strings.Contains(out.String(), "2  wrong usage, or input that could not be read\n") {
			t.Errorf("the exit statuses are run together:\n%s", out.String())
		}
	}
}

// The files for shells are what stance completion prints, and a shell that is here takes them.
func TestCompletion(t *testing.T) {
	dir := made(t)
	for shell, file := range map[string]string{"bash": "stance.bash", "zsh": "_stance", "fish": "stance.fish", "powershell": "stance.ps1"} {
		t.Run(shell, func(t *testing.T) {
			var out, errs bytes.Buffer
			if status := cli.Main(t.Context(), []string{"completion", shell}, strings.NewReader(""), &out, &errs); status != 0 || errs.Len() > 0 {
				t.Fatalf("status %d, %s", status, errs.String())
			}
			if got := content(t, filepath.Join(dir, file)); got != out.String() || !strings.Contains(got, "__complete") || !strings.Contains(got, "stance") {
				t.Errorf("%s is not what stance completion %s prints", file, shell)
			}
			args := map[string][]string{"bash": {"-n"}, "zsh": {"-n"}, "fish": {"--no-execute"}}[shell]
			path, err := exec.LookPath(shell)
			if err != nil || args == nil {
				return
			}
			if said, err := exec.CommandContext(t.Context(), path, append(args, filepath.Join(dir, file))...).CombinedOutput(); err != nil {
				t.Errorf("%s: %v\n%s", shell, err, said)
			}
		})
	}
}

// bash completes a command, a flag's words and a rule, asking the program itself.
func TestBashCompletes(t *testing.T) {
	bash, err := exec.LookPath("bash")
	if err != nil {
		t.Skip("no bash")
	}
	dir := made(t)
	program := filepath.Join(t.TempDir(), "stance")
	if said, err := exec.CommandContext(t.Context(), "go", "build", "-o", program, "example.com/stance/cmd/stance").CombinedOutput(); err != nil {
		t.Fatalf("%v\n%s", err, said)
	}
	for line, want := range map[string]string{"stance chec": "check", "stance check --format ju": "junit", "stance rules load-o": "load-over-limit", "stance check --chart-s": "--chart-sheet"} {
		words := strings.Fields(line)
		script := `source "$1/stance.bash"; shift
_get_comp_words_by_ref() { cur=${COMP_WORDS[COMP_CWORD]}; prev=${COMP_WORDS[COMP_CWORD-1]}; words=("${COMP_WORDS[@]}"); cword=$COMP_CWORD; }
__ltrim_colon_completions() { :; }
compopt() { :; }
COMP_WORDS=("$@"); COMP_CWORD=$(($# - 1)); COMP_LINE="$*"; COMP_POINT=${#COMP_LINE}; COMP_TYPE=9
__start_stance; printf '%s\n' "${COMPREPLY[@]}"`
		c := exec.CommandContext(t.Context(), bash, append([]string{"--norc", "-c", script, "bash", dir}, words...)...)
		c.Env = append(os.Environ(), "PATH="+filepath.Dir(program)+string(os.PathListSeparator)+os.Getenv("PATH"))
		said, err := c.CombinedOutput()
		if got := strings.TrimSpace(string(said)); err != nil || got != want {
			t.Errorf("%s completes to %q, want %q; %v", line, got, want, err)
		}
	}
}

// Made twice, the files are the same.
func TestSame(t *testing.T) {
	one, two := made(t), made(t)
	err := filepath.WalkDir(one, func(path string, d fs.DirEntry, err error) error {
		if err != nil || d.IsDir() {
			return err
		}
		rel, err := filepath.Rel(one, path)
		if err != nil {
			return err
		}
		if content(t, path) != content(t, filepath.Join(two, rel)) {
			t.Errorf("%s differs", rel)
		}
		return nil
	})
	if err != nil {
		t.Fatal(err)
	}
	if err := run(one, ""); err == nil {
		t.Error("a folder that is there already is written over")
	}
	if err := run(filepath.Join(t.TempDir(), "x"), "today"); err == nil || !strings.Contains(err.Error(), "want seconds since 1970") {
		t.Errorf("a time that is none: %v", err)
	}
}
