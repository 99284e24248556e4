package cli

import (
	"context"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"slices"
	"strings"

	"github.com/spf13/cobra"

	"example.com/stance/index"
	"example.com/stance/lexicon"
)

// A keptHome is the index of one home.
type keptHome struct {
	name string // empty where there is one home only
	dir  string
}

// indexHelp says how several homes are named.
const indexHelp = "`folder` of the index, or of a folder of indexes; may be given again, for several homes"

// keptHomes are the homes in the folders that --index names. A folder that is no index stands for those in it, which lie
// in a folder of the home's name, or in one named stance-index there. One index is a home without a name.
func keptHomes(folders []string) ([]keptHome, error) {
	var all []keptHome
	several := len(folders) > 1
	for _, dir := range folders {
		within, err := indexesIn(dir)
		if err != nil {
			return nil, err
		}
		if len(within) == 0 { // an index, or a folder that will be told to be none
			all = append(all, keptHome{homeName(dir), dir})
			continue
		}
		several = true
		all = append(all, within...)
	}
	if !several {
		return []keptHome{{"", folders[0]}}, nil
	}
	times := map[string]int{}
	for i, h := range all {
		times[h.name]++
		for _, o := range all[:i] {
			if sameFolder(o.dir, h.dir) {
				return nil, usagef("--index: %s is given twice", h.dir)
			}
		}
	}
	for i := range all {
		if times[all[i].name] > 1 {
			all[i].name = filepath.ToSlash(filepath.Clean(all[i].dir))
		}
	}
	return all, nil
}

// indexesIn are the indexes in a folder that is none itself, by name.
func indexesIn(dir string) ([]keptHome, error) {
	if info, err := os.Stat(dir); err != nil || !info.IsDir() || index.Is(dir) {
		return nil, nil
	}
	entries, err := os.ReadDir(dir) // by name
	if err != nil {
		return nil, usagef("%s: cannot be opened as a folder of indexes: %w", dir, cause(err))
	}
	var within []keptHome
	for _, e := range entries {
		for _, at := range []string{filepath.Join(dir, e.Name()), filepath.Join(dir, e.Name(), indexName)} {
			if index.Is(at) {
				within = append(within, keptHome{homeName(at), at})
				break
			}
		}
	}
	return within, nil
}

// homeName is what a home is called whose index is in a folder.
func homeName(dir string) string {
	if full, err := filepath.Abs(dir); err == nil {
		dir = full
	}
	if filepath.Base(dir) == indexName {
		dir = filepath.Dir(dir)
	}
	return filepath.Base(dir)
}

func sameFolder(a, b string) bool {
	if filepath.Clean(a) == filepath.Clean(b) {
		return true
	}
	one, err := os.Stat(a)
	if err != nil {
		return false
	}
	two, err := os.Stat(b)
	return err == nil && os.SameFile(one, two)
}

// remembering has a vocabulary compiled once for all homes that have the same words of their own.
func (a *app) remembering() *app {
	made := map[string]*lexicon.Lexicon{}
	b := *a
	b.compile = func(words ...lexicon.Word) (*lexicon.Lexicon, error) {
		key := fmt.Sprintf("%q", words)
		if lex, ok := made[key]; ok {
			return lex, nil
		}
		lex, err := a.compile(words...)
		if err == nil {
			made[key] = lex
		}
		return lex, err
	}
	return &b
}

// An absentee is a home that could not answer.
type absentee struct {
	home string
	err  error
}

// eachHome has ask ask one home after another. A home that fails is told of once the others are through, so that what
// is wrong with all of them is told once: the error is the first home's where none could answer, and none is that of
// some.
func eachHome(ctx context.Context, all []keptHome, ask func(keptHome) error) ([]absentee, error) {
	var absent []absentee
	for _, h := range all {
		if err := ctx.Err(); err != nil {
			return nil, err
		}
		if err := ask(h); err != nil {
			absent = append(absent, absentee{h.name, err})
		}
	}
	if len(absent) == len(all) {
		return nil, absent[0].err
	}
	return absent, nil
}

// sayAbsent tells which homes could not answer.
func (a *app) sayAbsent(absent []absentee) {
	for _, h := range absent {
		a.say("home %s could not be asked: %v", h.home, h.err)
	}
}

// absentError is the error that absent homes call for once all else is out.
func absentError(absent []absentee) error {
	if len(absent) == 0 {
		return nil
	}
	status := statusUsage
	for _, h := range absent {
		var e *exitError
		if !errors.As(h.err, &e) {
			status = statusInternal
		}
	}
	return &exitError{status: status}
}

// absentNames are the names of homes that could not answer.
func absentNames(absent []absentee) []string {
	var names []string
	for _, h := range absent {
		names = append(names, h.home)
	}
	slices.Sort(names)
	return names
}

// chartsFlags name the charts of several homes.
type chartsFlags struct {
	charts     []string
	chartSheet string // of each of them
}

func (f *chartsFlags) register(c *cobra.Command) {
	c.Flags().StringArrayVar(&f.charts, "chart", nil, "CSV, XLSX or FHIR `file` of the charted mobility status; of several homes HOME=FILE, given again")
	chartSheetFlag(c, &f.chartSheet)
}

// chartsOf gives each home its chart: a file is every home's, HOME=FILE is one's.
func chartsOf(given []string, all []keptHome) (func(home string) (file string, shared bool), error) {
	if len(all) == 1 && all[0].name == "" {
		if len(given) > 1 {
			return nil, usagef("--chart is given %d times, want one, or the indexes of several homes", len(given))
		}
		return func(string) (string, bool) { return strings.Join(given, ""), false }, nil
	}
	shared := ""
	own := map[string]string{}
	for _, s := range given {
		home, file, ok := strings.Cut(s, "=")
		known := slices.ContainsFunc(all, func(h keptHome) bool { return h.name == home })
		switch {
		case ok && known && own[home] == "":
			own[home] = file
		case ok && known:
			return nil, usagef("--chart: home %s has two", home)
		case ok && !fileThere(s):
			return nil, usagef("--chart %q: no home %q, want one of %s", s, home, list(namesOf(all)))
		case shared != "":
			return nil, usagef("--chart: both %s and %s are for all homes, want one, or HOME=FILE", shared, s)
		default:
			shared = s
		}
	}
	return func(home string) (string, bool) {
		if file, ok := own[home]; ok {
			return file, false
		}
		return shared, shared != ""
	}, nil
}

func fileThere(name string) bool {
	_, err := os.Stat(name)
	return err == nil
}

func namesOf(all []keptHome) []string {
	names := make([]string, len(all))
	for i, h := range all {
		names[i] = h.name
	}
	return names
}
