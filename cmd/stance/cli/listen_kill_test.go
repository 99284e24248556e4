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

// TestKilledListener kills the listener under load, at any moment, again and again. Whatever it has acknowledged is as it
// was sent last, and nothing is kept twice. It is killed twice, or a fifth of what STANCE_KILLS says.
func TestKilledListener(t *testing.T) {
	rounds := kills(t)
	dir := t.TempDir()
	idx := filepath.Join(dir, "index")
	s := &senders{t: t, documents: map[string]*sentDocument{}, rnd: rand.New(rand.NewPCG(5, 5))}
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
	acknowledged := 0
	for _, d := range s.documents {
		if d.acknowledged != "" {
			acknowledged++
		}
	}
	if acknowledged == 0 {
		t.Fatal("nothing was acknowledged, so that nothing was shown")
	}
	status, out, errs := run("find", "--index", idx, "--format", "csv", "--limit", "100000")
	if status != 0 {
		t.Fatalf("find: status %d: %s", status, errs)
	}
	rows, err := csv.NewReader(strings.NewReader(out)).ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	kept := map[string][]string{} // texts, by document
	for _, row := range rows[1:] {
		kept[row[0]] = append(kept[row[0]], row[len(row)-1])
	}
	for id, d := range s.documents {
		now := withdrawn
		switch texts := kept[id]; {
		case len(texts) > 1:
			t.Errorf("document %s is kept %d times", id, len(texts))
			continue
		case len(texts) == 1:
			now = texts[0]
		case d.acknowledged == "": // it need not be there
			continue
		}
		if now != d.acknowledged && now != d.sent {
			t.Errorf("document %s is %q; %q was acknowledged, and %q sent", id, now, d.acknowledged, d.sent)
		}
		delete(kept, id)
	}
	for id := range kept {
		t.Errorf("document %s is kept by itself", id)
	}
	t.Logf("%d kills, %d documents acknowledged, %d kept", rounds, acknowledged, len(rows)-1)
}

// A sentDocument is how far a document has come: what it says, or withdrawn.
type sentDocument struct{ acknowledged, sent string }

const withdrawn = "withdrawn"

// senders send documents and remember what became of them.
type senders struct {
	t   *testing.T
	rnd *rand.Rand

	mu        sync.Mutex
	documents map[string]*sentDocument // by the number of the first
}

// send sends one document after the other until the connection breaks: it is sent twice, then replaced and, one in three,
// cancelled.
func (s *senders) send(addr, name string) {
	c, err := net.Dial("tcp", addr)
	if err != nil {
		return // it was killed before
	}
	defer c.Close()
	_ = c.SetDeadline(time.Now().Add(time.Minute))
	in := bufio.NewReader(c)
	for i := 0; ; i++ {
		id := fmt.Sprintf("D%s-%d", name, i)
		d := &sentDocument{}
		s.mu.Lock()
		s.documents[id] = d
		s.mu.Unlock()
		const sat, stood = "sat at the edge of the bed x1", "stood at the edge of the bed x1"
		steps := []struct{ event, number, text, becomes string }{
			{"T02", id, sat, sat}, {"T02", id, sat, sat}, {"T10", id + "b|" + id, stood, stood}, {"T11", id + "b", "", withdrawn},
		}
		for n, step := range steps[:3+(i+1)%3/2] {
			message := fmt.Sprintf("MSH|^~\\&|A|B|C|D|20261124214500||MDM^%s|%s-%d|P|2.5\rPID|1||R-%s\rTXA|1|PN|TX|202611242140+0000||||||||%s\rOBX|1|TX|N||%s\r",
				step.event, id, n, name, step.number, step.text)
			s.mu.Lock()
			d.sent = step.becomes
			s.mu.Unlock()
			if _, err := io.WriteString(c, "\x0b"+message+"\x1c\r"); err != nil {
				return
			}
			answer, err := in.ReadString('\x1c')
			if err != nil {
				return
			}
			if !strings.Contains(answer, fmt.Sprintf("MSA|AA|%s-%d|", id, n)) {
				s.t.Errorf("%s: answered %q", step.event, answer)
				return
			}
			if _, err := in.ReadByte(); err != nil {
				return
			}
			s.mu.Lock()
			d.acknowledged = step.becomes
			s.mu.Unlock()
		}
	}
}
