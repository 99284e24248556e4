package cli

import (
	"bufio"
	"bytes"
	"context"
	"crypto/ecdsa"
	"crypto/elliptic"
	"crypto/rand"
	"crypto/tls"
	"crypto/x509"
	"encoding/pem"
	"io"
	"math/big"
	"net/http"
	"net/http/cookiejar"
	"net/url"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"sync"
	"testing"
	"time"

	"example.com/stance/cmd/stance/web/guard"
	"example.com/stance/index"
	"example.com/stance/lexicon"
	"example.com/stance/lint/note"
)

// A served page, of the program run with some arguments.
type servedPage struct {
	t      *testing.T
	url    string
	client *http.Client
	stop   func() (status int)
	stderr *safeBuffer
	said   []string // what the program printed up to the caution
}

type safeBuffer struct {
	mu sync.Mutex
	b  bytes.Buffer
}

func (s *safeBuffer) Write(p []byte) (int, error) {
	s.mu.Lock()
	defer s.mu.Unlock()
	return s.b.Write(p)
}

func (s *safeBuffer) String() string {
	s.mu.Lock()
	defer s.mu.Unlock()
	return s.b.String()
}

// servePage runs stance serve with the arguments, on a free port.
func servePage(t *testing.T, args ...string) *servedPage {
	t.Helper()
	p := &servedPage{t: t, stderr: new(safeBuffer)}
	stdout, printed := io.Pipe()
	ctx, cancel := context.WithCancel(context.Background())
	status := make(chan int, 1)
	a, _, _ := testApp("")
	a.out, a.err = printed, p.stderr
	a.now = time.Now // logins look at it
	go func() {
		status <- a.main(ctx, append([]string{"serve", "--listen", "127.0.0.1:0"}, args...))
		printed.Close()
	}()
	in := bufio.NewScanner(stdout)
	for in.Scan() {
		p.said = append(p.said, in.Text())
		if strings.HasPrefix(in.Text(), "Check the resident") {
			break
		}
	}
	first, _, _ := strings.Cut(strings.Join(p.said, "\n"), " in a browser")
	var ok bool
	if p.url, ok = strings.CutPrefix(first, "Open "); !ok {
		cancel()
		t.Fatalf("status %d, printed %q, on stderr: %s", <-status, p.said, p.stderr)
	}
	p.stop = sync.OnceValue(func() int {
		cancel()
		p.client.CloseIdleConnections()
		return <-status
	})
	t.Cleanup(func() { p.stop() })
	jar, err := cookiejar.New(nil)
	if err != nil {
		t.Fatal(err)
	}
	p.client = &http.Client{Jar: jar, Transport: http.DefaultTransport.(*http.Transport).Clone()}
	return p
}

// get is the page at a path below the address.
func (p *servedPage) get(path string) (int, string) {
	p.t.Helper()
	resp, err := p.client.Get(p.url + path)
	if err != nil {
		p.t.Fatal(err)
	}
	return p.read(resp)
}

func (p *servedPage) post(path string, form url.Values) (int, string) {
	p.t.Helper()
	resp, err := p.client.PostForm(p.url+path, form)
	if err != nil {
		p.t.Fatal(err)
	}
	return p.read(resp)
}

func (p *servedPage) read(resp *http.Response) (int, string) {
	p.t.Helper()
	defer resp.Body.Close()
	body, err := io.ReadAll(resp.Body)
	if err != nil {
		p.t.Fatal(err)
	}
	return resp.StatusCode, string(body)
}

// token is that of the forms on a page.
func (p *servedPage) token(path string) string {
	p.t.Helper()
	_, body := p.get(path)
	_, after, _ := strings.Cut(body, `name="csrf" value="`)
	token, _, ok := strings.Cut(after, `"`)
	if !ok {
		p.t.Fatalf("no token in %s: %s", path, body)
	}
	return token
}

// files writes files to a new folder and gives their paths in the order of the names given.
func files(t *testing.T, nameAndText ...string) []string {
	t.Helper()
	dir := t.TempDir()
	var paths []string
	for i := 0; i < len(nameAndText); i += 2 {
		path := filepath.Join(dir, nameAndText[i])
		if err := os.WriteFile(path, []byte(nameAndText[i+1]), 0o600); err != nil {
			t.Fatal(err)
		}
		paths = append(paths, path)
	}
	return paths
}

const (
	servedNotes = `{"note":"N1","resident":"R-1","unit":"Fir","time":"2026-11-24T21:40:00-05:00","shift":"evening","role":"care worker","text":"After supper she walked to BR with cane x1, no dizziness."}` + "\n"
	servedChart = `resident,unit,from,until,left_leg,right_leg,left_arm,right_arm,transfer,staff,aids,walk,by
R-1,Fir,2026-11-20T09:00:00-05:00,,nwb,fwb,fwb,fwb,two-person-pivot,2,walker-2w;belt,with-aid,therapist
`
)

func TestServe(t *testing.T) {
	f := files(t, "notes.jsonl", servedNotes, "chart.csv", servedChart)
	p := servePage(t, "--chart", f[1], f[0])
	want := []string{
		"Open " + p.url + " in a browser on this machine. Ctrl-C stops it.",
		"Shown: 1 note on 1 resident.",
		"Findings cannot be answered without --answers FILE.",
		"Whoever uses this machine can see all of it while stance runs; --users FILE asks for a login.",
	}
	if got := strings.Join(p.said[:len(p.said)-1], "\n"); got != strings.Join(want, "\n") {
		t.Errorf("printed:\n%s\nwant:\n%s", got, strings.Join(want, "\n"))
	}
	if status, body := p.get("shift"); status != http.StatusOK || !strings.Contains(body, "walked to BR with cane x1") {
		t.Errorf("the shift: status %d, want its findings: %s", status, body)
	}
	if status := p.stop(); status != statusClean {
		t.Errorf("stopped: status %d, want %d; on stderr: %s", status, statusClean, p.stderr)
	}
	if got := p.stderr.String(); got != "" {
		t.Errorf("on stderr: %s", got)
	}
}

// Files that change while they are served are read again.
func TestServeReadsAgain(t *testing.T) {
	f := files(t, "notes.jsonl", servedNotes, "chart.csv", servedChart)
	p := servePage(t, "--chart", f[1], f[0])
	flagged := func() bool {
		t.Helper()
		_, body := p.get("shift")
		return strings.Contains(body, "leaves 75%")
	}
	if !flagged() {
		t.Fatal("a load over the limit is not flagged")
	}
	write := func(name, text string) {
		t.Helper()
		if err := os.WriteFile(name, []byte(text), 0o600); err != nil {
			t.Fatal(err)
		}
	}
	write(f[1], strings.Replace(servedChart, "nwb", "", 1))
	if flagged() {
		t.Error("the chart was not read again")
	}
	if status, _ := p.get("resident?id=R-22"); status != http.StatusNotFound {
		t.Errorf("a resident who is not in the notes: status %d, want 404", status)
	}
	write(f[0], strings.Replace(servedNotes, "R-1", "R-22", 1))
	if status, _ := p.get("resident?id=R-22"); status != http.StatusOK {
		t.Errorf("a resident who is new in the notes: status %d, want 200", status)
	}
	write(f[0], "Zebra\n")
	p.get("shift")
	if got := p.stderr.String(); !strings.Contains(got, f[0]) || strings.Contains(got, "Zebra") {
		t.Errorf("on stderr: %q, want the file, and nothing that stands in it", got)
	}
}

// Kept notes are served too, and those that are kept meanwhile.
func TestServeKeptNotes(t *testing.T) {
	dir := filepath.Join(t.TempDir(), "kept")
	lex, err := compileOnce()
	if err != nil {
		t.Fatal(err)
	}
	keep := func(id, resident string) {
		t.Helper()
		w, err := index.OpenWriter(dir, lex)
		if err != nil {
			t.Fatal(err)
		}
		more := []note.Note{{ID: id, Resident: resident, Unit: "Fir", Time: time.Date(2026, 11, 24, 21, 40, 0, 0, time.UTC), Role: lexicon.CareWorker, Text: "Walked to BR with cane x1."}}
		if _, err := w.Keep(t.Context(), func() (n note.Note, err error) {
			if len(more) == 0 {
				return n, io.EOF
			}
			n, more = more[0], more[1:]
			return n, nil
		}, index.KeepOptions{}); err != nil {
			t.Fatal(err)
		}
		if err := w.Close(); err != nil {
			t.Fatal(err)
		}
	}
	keep("N1", "R-1")
	p := servePage(t, "--index", dir)
	if got, want := p.said[1], "Shown: 1 note on 1 resident."; got != want {
		t.Errorf("printed %q, want %q", got, want)
	}
	if status, body := p.get("resident?id=R-1"); status != http.StatusOK || !strings.Contains(body, "cane") {
		t.Errorf("a kept resident: status %d, want 200 and the note", status)
	}
	if status, _ := p.get("resident?id=R-2"); status != http.StatusNotFound {
		t.Errorf("a resident not kept: status %d, want 404", status)
	}
	keep("N2", "R-2")
	if status, _ := p.get("resident?id=R-2"); status != http.StatusOK {
		t.Errorf("a resident kept meanwhile: status %d, want 200", status)
	}
}

// Scripts in a note's text, a resident's name, a unit and the name of a file come out as text.
func TestServeEscapes(t *testing.T) {
	const script = `<script>alert(1)</script>`
	notes := strings.NewReplacer("R-1", "R<script>alert(1)", "Fir", "Fir"+script, "with cane x1", "with cane x1 "+script).Replace(servedNotes)
	f := files(t, "<script>.jsonl", notes, "chart.csv", strings.ReplaceAll(servedChart, "R-1", "R<script>alert(1)"))
	p := servePage(t, "--chart", f[1], f[0])
	resident := url.QueryEscape("R<script>alert(1)")
	escaped := 0
	for _, path := range []string{"note?resident=" + resident, "shift", "resident", "resident?id=" + resident, "resident?id=" + resident + "&words=" + url.QueryEscape(script), "shift?unit=" + url.QueryEscape(script)} {
		status, body := p.get(path)
		if strings.Contains(body, "<script>") || strings.Contains(body, "alert(1)</script>") {
			t.Errorf("%s, status %d: a script gets through", path, status)
		}
		escaped += strings.Count(body, "&lt;script")
	}
	if escaped == 0 {
		t.Error("no page shows the resident at all")
	}
}

// No page, style or script names another machine, or holds a script or style of its own.
func TestServeNamesNoOtherMachine(t *testing.T) {
	f := files(t, "notes.jsonl", servedNotes, "chart.csv", servedChart)
	p := servePage(t, "--chart", f[1], f[0])
	link := regexp.MustCompile(`(?i)\b(?:href|src|srcset|action|formaction|poster|data|ping)\s*=\s*["']?([^"' >]+)`)
	inline := regexp.MustCompile(`(?i)<style|\sstyle=|\son[a-z]+=|<script(?:\s[^>]*)?>[^<]|<meta[^>]+http-equiv`)
	loads := regexp.MustCompile(`(?i)(?:url\(|@import|fetch\(|import\(|from\s+)\s*["']?((?:https?:)?//[^"')\s]+)|\b(?:WebSocket|EventSource|sendBeacon|XMLHttpRequest)\b`)
	queue, seen := []string{"", "note", "shift", "resident", "resident?id=R-1", "enter"}, map[string]bool{}
	for len(queue) > 0 {
		path := queue[0]
		queue = queue[1:]
		if seen[path] || len(seen) > 200 {
			continue
		}
		seen[path] = true
		resp, err := p.client.Get(p.url + path)
		if err != nil {
			t.Fatal(err)
		}
		_, body := p.read(resp)
		if found := loads.FindString(body); found != "" {
			t.Errorf("/%s loads %s", path, found)
		}
		// A file to keep stands alone: its style is in it, and no policy of ours goes with it.
		download := strings.HasPrefix(resp.Header.Get("Content-Disposition"), "attachment")
		if strings.HasSuffix(path, ".css") || strings.HasSuffix(path, ".js") {
			continue
		}
		if found := inline.FindString(body); found != "" && !download {
			t.Errorf("/%s holds %q, which the policy of the page forbids", path, found)
		}
		for _, m := range link.FindAllStringSubmatch(body, -1) {
			to := strings.ReplaceAll(m[1], "&amp;", "&")
			switch {
			case strings.HasPrefix(to, "#"), strings.HasPrefix(to, "data:"):
			case strings.HasPrefix(to, "/") && !strings.HasPrefix(to, "//"):
				local, _, _ := strings.Cut(to[1:], "#")
				queue = append(queue, local)
			case strings.HasPrefix(to, "?"):
				base, _, _ := strings.Cut(path, "?")
				local, _, _ := strings.Cut(to, "#")
				queue = append(queue, base+local)
			default:
				t.Errorf("/%s leads to %s", path, to)
			}
		}
	}
	for _, asset := range []string{"static/page.css", "static/page.js"} {
		if !seen[asset] {
			t.Errorf("/%s was not looked at", asset)
		}
	}
}

// Accounts and TLS, from adduser to the access log.
func TestServeWithAccounts(t *testing.T) {
	f := files(t, "notes.jsonl", servedNotes, "chart.csv", servedChart)
	dir := filepath.Dir(f[0])
	users, accessLog := filepath.Join(dir, "users.jsonl"), filepath.Join(dir, "access.jsonl")
	for _, u := range []string{"r1 review Fir", "w1 write Fir", "o1 review Oak"} {
		part := strings.Fields(u)
		a, _, stderr := testApp("two helpers and a belt\n")
		if status := a.main(context.Background(), []string{"serve", "adduser", part[0], "--users", users, "--roles", part[1], "--units", part[2]}); status != statusClean {
			t.Fatalf("adduser: status %d: %s", status, stderr)
		}
	}
	cert, key, pool := selfSigned(t, dir)
	p := servePage(t, "--chart", f[1], "--users", users, "--access-log", accessLog, "--tls-cert", cert, "--tls-key", key, f[0])
	p.client.Transport.(*http.Transport).TLSClientConfig = &tls.Config{RootCAs: pool}
	if !strings.HasPrefix(p.url, "https://localhost:") {
		t.Fatalf("address %s, want the name of the certificate", p.url)
	}
	login := func(name string) {
		t.Helper()
		token := p.token("enter")
		if status, body := p.post("enter", url.Values{guard.CSRFField: {token}, "user": {name}, "password": {"two helpers and a belt"}}); status != http.StatusOK {
			t.Fatalf("login: status %d: %s", status, body)
		}
	}
	leave := func() {
		t.Helper()
		if status, _ := p.post("leave", url.Values{guard.CSRFField: {p.token("enter")}}); status != http.StatusOK {
			t.Fatalf("logging out: status %d", status)
		}
	}
	if _, body := p.get("shift"); !strings.Contains(body, "Log in") || strings.Contains(body, "cane") {
		t.Errorf("nobody is shown %s", body)
	}
	login("w1")
	if status, body := p.get("shift"); status != http.StatusForbidden || strings.Contains(body, "cane") {
		t.Errorf("one who may only write, at the shift: status %d, want 403", status)
	}
	leave()
	login("o1")
	if _, body := p.get("shift?unit=Fir"); strings.Contains(body, "cane") {
		t.Error("one of another unit is shown the notes")
	}
	if status, _ := p.get("resident?id=R-1"); status != http.StatusNotFound {
		t.Errorf("one of another unit, at the resident: status %d, want 404", status)
	}
	leave()
	if text, err := os.ReadFile(accessLog); err != nil || strings.Contains(string(text), "R-1") {
		t.Errorf("access log before anybody saw the resident: %s, %v", text, err)
	}
	login("r1")
	if status, body := p.get("resident?id=R-1"); status != http.StatusOK || !strings.Contains(body, "cane") {
		t.Errorf("one who may: status %d, want 200 and the note", status)
	}
	if text, err := os.ReadFile(accessLog); err != nil || !strings.Contains(string(text), `"user":"r1","did":"saw","resident":"R-1","place":"/resident"}`) {
		t.Errorf("access log: %s, %v", text, err)
	}
}

// selfSigned makes a certificate for localhost.
func selfSigned(t *testing.T, dir string) (certFile, keyFile string, pool *x509.CertPool) {
	t.Helper()
	key, err := ecdsa.GenerateKey(elliptic.P256(), rand.Reader)
	if err != nil {
		t.Fatal(err)
	}
	template := &x509.Certificate{SerialNumber: big.NewInt(1), DNSNames: []string{"localhost"}, NotBefore: time.Now().Add(-time.Hour), NotAfter: time.Now().Add(time.Hour)}
	der, err := x509.CreateCertificate(rand.Reader, template, template, &key.PublicKey, key)
	if err != nil {
		t.Fatal(err)
	}
	keyDER, err := x509.MarshalPKCS8PrivateKey(key)
	if err != nil {
		t.Fatal(err)
	}
	certFile, keyFile = filepath.Join(dir, "cert.pem"), filepath.Join(dir, "key.pem")
	for file, block := range map[string]*pem.Block{certFile: {Type: "CERTIFICATE", Bytes: der}, keyFile: {Type: "PRIVATE KEY", Bytes: keyDER}} {
		if err := os.WriteFile(file, pem.EncodeToMemory(block), 0o600); err != nil {
			t.Fatal(err)
		}
	}
	cert, err := x509.ParseCertificate(der)
	if err != nil {
		t.Fatal(err)
	}
	pool = x509.NewCertPool()
	pool.AddCert(cert)
	return certFile, keyFile, pool
}
