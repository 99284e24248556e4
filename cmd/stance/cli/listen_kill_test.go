package cli_test

import (
	"bufio"
	"encoding/csv"
	"fmt"
	"io"
	"math/rand/v2"
	"net"
	"os/exec"
	"path/filepath"
	"regexp"
	"strings"
	"sync"
	"testing"
	"time"
)

// TestKilledListener kills the listener under load, at any moment, again and again. Whatever it has acknowledged is kept,
// and nothing twice. It is killed twice, or a fifth of what STANCE_KILLS says.
func TestKilledListener(t *testing.T) {
	rounds := kills(t)
	dir := t.TempDir()
	idx := filepath.Join(dir, "index")
	s := &senders{t: t, acknowledged: map[string]bool{}, rnd: rand.New(rand.NewPCG(5, 5))}
	for round := range rounds {
		c := exec.Command("stance", "listen", "--listen", "127.0.0.1:0", "--index", idx, "--findings", filepath.Join(dir, "findings.jsonl"))
		stdout, err := c.StdoutPipe()
		if err != nil {
			t.Fatal(err)
		}
		if err := c.Start(); err != nil {
			t.Fatal(err)
		}
		line, err := bufio.NewReader(stdout).ReadString('\n')
		if err != nil {
			t.Fatalf("round %d: it does not listen: %v", round, err)
		}
		addr := regexp.MustCompile(`127\.0\.0\.1:\d+`).FindString(line)
		after := time.AfterFunc(time.Duration(10+s.rnd.IntN(400))*time.Millisecond, func() { _ = c.Process.Kill() })
		var sending sync.WaitGroup
		for sender := range 3 {
			sending.Go(func() { s.send(addr, fmt.Sprintf("%d-%d", round, sender)) })
		}
		sending.Wait() // until the connections break
		_ = c.Wait()
		after.Stop()
	}
	if len(s.acknowledged) == 0 {
		t.Fatal("nothing was acknowledged, so that nothing was shown")
	}
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
		times[regexp.MustCompile(`D\d+-\d+-\d+`).FindString(strings.Join(row, " "))]++
	}
	for id := range s.acknowledged {
		if times[id] == 0 {
			t.Errorf("document %s was acknowledged and is not kept", id)
		}
	}
	for id, n := range times {
		if n > 1 {
			t.Errorf("document %s is kept %d times", id, n)
		}
	}
	t.Logf("%d kills, %d messages acknowledged, %d kept", rounds, len(s.acknowledged), len(times))
}

// senders send documents and remember which were acknowledged.
type senders struct {
	t   *testing.T
	rnd *rand.Rand

	mu           sync.Mutex
	acknowledged map[string]bool
}

// send sends one document after the other, and every third once more, until the connection breaks.
func (s *senders) send(addr, name string) {
	c, err := net.Dial("tcp", addr)
	if err != nil {
		return // it was killed before
	}
	defer c.Close()
	_ = c.SetDeadline(time.Now().Add(time.Minute))
	in := bufio.NewReader(c)
	for i := 0; ; i++ {
		id := fmt.Sprintf("D%s-%d", name, i-i%3%2)
		message := fmt.Sprintf("MSH|^~\\&|A|B|C|D|20261124214500||MDM^T02|%s|P|2.5\rPID|1||R-%s\rTXA|1|PN|TX|202611242140+0000||||||||%s\rOBX|1|TX|N||sat at the edge of the bed x1\r", id, name, id)
		if _, err := io.WriteString(c, "\x0b"+message+"\x1c\r"); err != nil {
			return
		}
		answer, err := in.ReadString('\x1c')
		if err != nil {
			return
		}
		if !strings.Contains(answer, "MSA|AA|"+id+"|") {
			s.t.Errorf("answered %q", answer)
			return
		}
		if _, err := in.ReadByte(); err != nil {
			return
		}
		s.mu.Lock()
		s.acknowledged[id] = true
		s.mu.Unlock()
	}
}
