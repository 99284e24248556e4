package cli_test

import (
	"bufio"
	"encoding/csv"
	"fmt"
	"math/rand/v2"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"
	"time"
)

// TestKilledWatch kills a run that watches a folder, again and again, while files are dropped into it. In the end all is
// kept, and nothing twice. It is killed twice, or a fifth of what STANCE_KILLS says.
func TestKilledWatch(t *testing.T) {
	rounds := kills(t)
	dir := t.TempDir()
	idx, folder := filepath.Join(dir, "index"), filepath.Join(dir, "drop")
	if err := os.Mkdir(folder, 0o700); err != nil {
		t.Fatal(err)
	}
	rnd := rand.New(rand.NewPCG(6, 6))
	dropped := 0
	drop := func() {
		var b strings.Builder
		for range 20 {
			fmt.Fprintf(&b, `{"note":"D%d","resident":"R-%d","time":"2026-11-24T21:40:00Z","text":"sat at the edge of the bed x1"}`+"\n", dropped, dropped%7)
			dropped++
		}
		name := filepath.Join(folder, fmt.Sprintf("%d.jsonl", dropped))
		if err := os.WriteFile(name+".tmp", []byte(b.String()), 0o600); err != nil {
			t.Fatal(err)
		}
		if err := os.Rename(name+".tmp", name); err != nil {
			t.Fatal(err)
		}
	}
	for range rounds {
		c, lines := watchIn(t, idx, folder)
		for range 20 {
			drop()
		}
		for range 1 + rnd.IntN(20) { // of the files; then a moment into the next
			<-lines
		}
		time.Sleep(time.Duration(rnd.IntN(4000)) * time.Microsecond)
		_ = c.Process.Kill()
		for range lines {
		}
		_ = c.Wait()
	}
	drop()
	c, lines := watchIn(t, idx, folder)
	last := fmt.Sprintf("%d.jsonl: ", dropped)
	for line := range lines {
		if strings.HasPrefix(line, last) {
			last = ""
		}
		if strings.HasPrefix(line, "Checked") && last == "" {
			break
		}
	}
	_ = c.Process.Kill()
	for range lines {
	}
	_ = c.Wait()
	status, out, errs := run("find", "--index", idx, "sat", "--format", "csv", "--limit", "100000")
	if status != 0 {
		t.Fatalf("find: status %d: %s", status, errs)
	}
	rows, err := csv.NewReader(strings.NewReader(out)).ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	times := map[string]int{}
	for _, row := range rows[1:] {
		times[row[0]]++
	}
	for i := range dropped {
		if n := times[fmt.Sprint("D", i)]; n != 1 {
			t.Errorf("note D%d is kept %d times", i, n)
		}
	}
}

// watchIn starts a run and gives the lines that it prints; the channel is closed when it has ended.
func watchIn(t *testing.T, idx, folder string) (*exec.Cmd, <-chan string) {
	t.Helper()
	c := exec.Command("stance", "keep", "--watch", folder, "--interval", "1s", "--index", idx)
	stdout, err := c.StdoutPipe()
	if err != nil {
		t.Fatal(err)
	}
	if err := c.Start(); err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { _ = c.Process.Kill() })
	in := bufio.NewScanner(stdout)
	for in.Scan() {
		if strings.HasPrefix(in.Text(), "Watching ") {
			break
		}
	}
	lines := make(chan string)
	go func() {
		defer close(lines)
		for in.Scan() {
			lines <- in.Text()
		}
	}()
	return c, lines
}
