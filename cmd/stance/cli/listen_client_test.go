package cli

import (
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"
)

// A client that others wrote sends and understands the answers: mllp-node of npm (Apache-2.0), which .ci/run fetches. It
// wants STANCE_MLLP, the folder that the package lies in, and Node.js.
func TestListenForeignClient(t *testing.T) {
	modules := os.Getenv("STANCE_MLLP")
	if modules == "" {
		t.Skip("STANCE_MLLP names no folder with mllp-node in it")
	}
	dir := t.TempDir()
	idx, messages, script := filepath.Join(dir, "index"), filepath.Join(dir, "messages.txt"), filepath.Join(dir, "client.js")
	l := listenOn(t, "--index", idx)
	host, port, _ := strings.Cut(l.addr, ":")
	sent := []string{
		documentOf("T02", "M1", "N1", "walked to the lounge with cane, x1"),
		documentOf("T10", "M2", "N2|N1", "walked to the dining room with cane, x1"),
		strings.Replace(documentOf("T02", "M3", "N3", "sat up"), "PID|1||R-1", "PID|1||", 1),
	}
	if err := os.WriteFile(messages, []byte(strings.Join(sent, "\n")), 0o600); err != nil {
		t.Fatal(err)
	}
	// Each message goes out once the one before is answered; the server that comes with the client is not used.
	client := `
const {MLLPServer} = require("mllp-node");
const [host, port, file] = process.argv.slice(2);
const quiet = () => {};
const c = new MLLPServer("127.0.0.1", "0", quiet);
const left = require("fs").readFileSync(file, "utf8").split("\n");
const next = () => {
	if (left.length === 0) process.exit(0);
	c.send(host, port, left.shift(), (err, answer) => {
		console.log(err || answer);
		next();
	});
};
next();
`
	if err := os.WriteFile(script, []byte(client), 0o600); err != nil {
		t.Fatal(err)
	}
	c := exec.CommandContext(t.Context(), "node", script, host, port, messages)
	c.Env = append(os.Environ(), "NODE_PATH="+modules)
	out, err := c.CombinedOutput()
	if err != nil {
		t.Fatalf("%v\n%s", err, out)
	}
	want := "MSA|AA|M1|\nMSA|AA|M2|\nMSA|AR|M3|message:2: want the resident's number in PID-3 (message M3)\n"
	if got := string(out); got != want {
		t.Errorf("it was answered\n%swant\n%s", got, want)
	}
	l.stop()
	a, stdout, _ := testApp("")
	if status := a.main(t.Context(), []string{"find", "--index", idx, "walked"}); status != 0 || !strings.Contains(stdout.String(), "dining room") || strings.Contains(stdout.String(), "lounge") {
		t.Errorf("status %d, kept:\n%s", status, stdout)
	}
}
