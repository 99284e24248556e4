package cli

import (
	"bytes"
	"crypto/ecdsa"
	"crypto/elliptic"
	"crypto/rand"
	"crypto/tls"
	"encoding/base64"
	"encoding/json"
	"fmt"
	"io/fs"
	"net/http"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/go-jose/go-jose/v4"
	"github.com/go-jose/go-jose/v4/jwt"
)

const recordsIssuer = "https://records.example.org"

// A hooksClient is a system of records that speaks CDS Hooks.
type hooksClient struct {
	*servedPage
	key *ecdsa.PrivateKey
}

// writeKeys makes the client's key and writes the set that the home is given.
func (c *hooksClient) writeKeys(t *testing.T, file string) {
	t.Helper()
	var err error
	if c.key, err = ecdsa.GenerateKey(elliptic.P384(), rand.Reader); err != nil {
		t.Fatal(err)
	}
	set, err := json.Marshal(jose.JSONWebKeySet{Keys: []jose.JSONWebKey{{Key: c.key.Public(), KeyID: "k1", Algorithm: "ES384", Use: "sig"}}})
	if err == nil {
		err = os.WriteFile(file, set, 0o644)
	}
	if err != nil {
		t.Fatal(err)
	}
}

// token is one for an address, good once.
func (c *hooksClient) token(t *testing.T, address string) string {
	t.Helper()
	s, err := jose.NewSigner(jose.SigningKey{Algorithm: jose.ES384, Key: jose.JSONWebKey{Key: c.key, KeyID: "k1"}}, (&jose.SignerOptions{}).WithType("JWT"))
	if err != nil {
		t.Fatal(err)
	}
	now := time.Now()
	token, err := jwt.Signed(s).Claims(map[string]any{
		"iss": recordsIssuer, "aud": address, "iat": now.Unix(), "exp": now.Add(5 * time.Minute).Unix(), "jti": rand.Text(),
	}).Serialize()
	if err != nil {
		t.Fatal(err)
	}
	return token
}

// send sends a request with a token; an empty body is a GET.
func (c *hooksClient) send(t *testing.T, path, token string, body []byte) (int, string) {
	t.Helper()
	method := http.MethodPost
	if body == nil {
		method = http.MethodGet
	}
	r, err := http.NewRequest(method, c.url+path, bytes.NewReader(body))
	if err != nil {
		t.Fatal(err)
	}
	r.Header.Set("Content-Type", "application/json")
	r.Header.Set("Authorization", "Bearer "+token)
	resp, err := c.client.Do(r)
	if err != nil {
		t.Fatal(err)
	}
	return c.read(resp)
}

func (c *hooksClient) ask(t *testing.T, path string, body []byte) (int, string) {
	t.Helper()
	return c.send(t, path, c.token(t, c.url+path), body)
}

// A service as discovery tells of it, and the cards of an answer.
type (
	hookService struct {
		Hook, ID string
		Prefetch map[string]string
	}
	hookCards struct {
		Cards []struct {
			Summary, Indicator, Detail string
			Suggestions                []struct {
				Actions []struct{ Resource json.RawMessage }
			}
		}
	}
)

// call calls a service on a resident, with the resources that it wants prefetched.
func (c *hooksClient) call(t *testing.T, s hookService, patient string, resources map[string]any) (int, string) {
	t.Helper()
	context := map[string]any{"userId": "Practitioner/a17", "patientId": patient, "noteId": "n7"}
	prefetch := map[string]any{}
	for key, template := range s.Prefetch { // as a client does it: a token is replaced, and what there is is read
		for name, value := range context {
			template = strings.ReplaceAll(template, "{{context."+name+"}}", value.(string))
		}
		if resource, ok := resources[template]; ok {
			prefetch[key] = resource
		}
	}
	body, err := json.Marshal(map[string]any{"hook": s.Hook, "hookInstance": "d1577c69-dfbe-44ad-ba6d-3e05e953b2ea", "context": context, "prefetch": prefetch})
	if err != nil {
		t.Fatal(err)
	}
	return c.ask(t, "cds-services/"+s.ID, body)
}

// TestServeHooks is a session of a system of records with the running program: it finds the services, opens a resident, has
// a note checked, takes a suggestion over and has it checked again.
func TestServeHooks(t *testing.T) {
	f := files(t, "notes.jsonl", servedNotes, "chart.csv", servedChart)
	dir := filepath.Dir(f[0])
	keys, accessLog, idx := filepath.Join(dir, "keys.json"), filepath.Join(dir, "access.jsonl"), filepath.Join(dir, "index")
	// The notes are of these hours, so that they are open.
	now := time.Now().Add(-2 * time.Hour).Format(time.RFC3339)
	recent := strings.Replace(servedNotes, "2026-11-24T21:40:00-05:00", now, 1)
	recent = strings.Replace(recent, `"shift":"evening",`, "", 1)
	chart := strings.Replace(servedChart, "2026-11-20", "2020-11-20", 1)
	for name, text := range map[string]string{f[0]: recent, f[1]: chart} {
		if err := os.WriteFile(name, []byte(text), 0o600); err != nil {
			t.Fatal(err)
		}
	}
	a, _, stderr := testApp("")
	if status := a.main(t.Context(), []string{"keep", "--quiet", "--index", idx, "--chart", f[1], f[0]}); status != 0 {
		t.Fatalf("keep: status %d, %s", status, stderr)
	}
	c := &hooksClient{}
	c.writeKeys(t, keys)
	cert, key, pool := selfSigned(t, dir)
	c.servedPage = servePage(t, "--chart", f[1], "--index", idx, "--access-log", accessLog, "--tls-cert", cert, "--tls-key", key,
		"--cds-keys", keys, "--cds-issuer", recordsIssuer, "--cds-units", "Fir")
	c.client.Transport.(*http.Transport).TLSClientConfig = &tls.Config{RootCAs: pool}
	if said := strings.Join(c.said, "\n"); !strings.Contains(said, "CDS Hooks: "+c.url+"cds-services, for "+recordsIssuer+".") {
		t.Errorf("said %s", said)
	}

	status, text := c.ask(t, "cds-services", nil)
	var found struct{ Services []hookService }
	if err := json.Unmarshal([]byte(text), &found); status != 200 || err != nil || len(found.Services) != 2 {
		t.Fatalf("discovery: status %d, %s, %v", status, text, err)
	}
	services := map[string]hookService{}
	for _, s := range found.Services {
		services[s.Hook] = s
	}
	noteSign, view := services["com.example.stance.note-sign"], services["patient-view"]

	cardsOf := func(status int, text string) hookCards {
		t.Helper()
		var got hookCards
		if err := json.Unmarshal([]byte(text), &got); status != 200 || err != nil {
			t.Fatalf("status %d, %s, %v", status, text, err)
		}
		return got
	}
	patient := map[string]any{"resourceType": "Patient", "id": "p1", "identifier": []any{map[string]string{"value": "R-1"}}}
	opened := cardsOf(c.call(t, view, "p1", map[string]any{"Patient/p1": patient}))
	if len(opened.Cards) == 0 || opened.Cards[0].Indicator != "critical" || !strings.Contains(opened.Cards[0].Detail, "walked to BR") {
		t.Errorf("opened: %+v", opened)
	}
	const written = "Quillworthy: lifted to chair, two helpers, pivot with belt and took steps."
	doc := map[string]any{
		"resourceType": "DocumentReference", "id": "n7", "status": "current",
		"content": []any{map[string]any{"attachment": map[string]string{"contentType": "text/plain", "data": base64.StdEncoding.EncodeToString([]byte(written))}}},
	}
	resources := map[string]any{"Patient/p1": patient, "DocumentReference/n7": doc}
	checked := cardsOf(c.call(t, noteSign, "p1", resources))
	var amended json.RawMessage
	for _, card := range checked.Cards {
		for _, s := range card.Suggestions {
			for _, action := range s.Actions {
				amended = action.Resource
			}
		}
	}
	if amended == nil {
		t.Fatalf("nothing to take over: %+v", checked)
	}
	resources["DocumentReference/n7"] = amended
	if again := cardsOf(c.call(t, noteSign, "p1", resources)); len(again.Cards) != len(checked.Cards)-1 {
		t.Errorf("once it was taken over: %+v, before: %+v", again, checked)
	}

	// What is refused, and a token that comes twice.
	if status, _ := c.call(t, view, "p2", nil); status != http.StatusPreconditionFailed {
		t.Errorf("no Patient: status %d", status)
	}
	token := c.token(t, c.url+"cds-services")
	if status, _ := c.send(t, "cds-services/stance-resident", token, []byte("{}")); status != http.StatusUnauthorized {
		t.Errorf("a token for another service: status %d", status)
	}
	if status, _ := c.send(t, "cds-services", token, nil); status != 200 {
		t.Errorf("status %d", status)
	}
	if status, _ := c.send(t, "cds-services", token, nil); status != http.StatusUnauthorized {
		t.Errorf("the same token again: status %d", status)
	}
	hostile := map[string][]byte{
		"nothing": {}, "half": []byte(`{"hook":"com.exa`), "deep": bytes.Repeat([]byte("["), 100_000), "large": bytes.Repeat([]byte(" "), 300_000),
		"a NUL": []byte("\x00"), "other hook": []byte(`{"hook":"order-sign"}`),
	}
	for name, body := range hostile {
		want := http.StatusBadRequest
		if name == "large" {
			want = http.StatusRequestEntityTooLarge
		}
		if status, text := c.ask(t, "cds-services/stance-note", body); status != want {
			t.Errorf("%s: status %d, %s", name, status, text)
		}
	}
	if status, _ := c.get("cds-services"); status != http.StatusUnauthorized {
		t.Errorf("a browser: status %d", status)
	}
	if status := c.stop(); status != 0 {
		t.Errorf("stopped with status %d: %s", status, c.stderr)
	}

	log, err := os.ReadFile(accessLog)
	for _, want := range []string{
		`"user":"` + recordsIssuer + `","for":"Practitioner/a17","did":"saw","resident":"R-1","place":"/cds-services/stance-resident"}`,
		`"user":"` + recordsIssuer + `","for":"Practitioner/a17","did":"saw","resident":"R-1","place":"/cds-services/stance-note"}`,
		`"user":"","did":"refused","place":"/cds-services"}`,
	} {
		if err != nil || !strings.Contains(string(log), want) {
			t.Errorf("want %s in the access log: %s, %v", want, log, err)
		}
	}
	// The note is nowhere: in no file, and in no message.
	err = filepath.WalkDir(dir, func(path string, d fs.DirEntry, err error) error {
		if err != nil || d.IsDir() {
			return err
		}
		b, err := os.ReadFile(path)
		if bytes.Contains(b, []byte("Quillworthy")) || bytes.Contains(b, []byte(base64.StdEncoding.EncodeToString([]byte(written))[:20])) {
			t.Errorf("words of the note in %s", path)
		}
		return err
	})
	if err != nil || strings.Contains(c.stderr.String(), "Quillworthy") {
		t.Errorf("%v, stderr %s", err, c.stderr)
	}
	if !strings.Contains(c.stderr.String(), "a caller was refused: want a token for "+c.url+"cds-services/stance-resident") {
		t.Errorf("stderr %s", c.stderr)
	}
}

// Without keys there are no services.
func TestServeWithoutHooks(t *testing.T) {
	p := servePage(t)
	for _, path := range []string{"cds-services", "cds-services/stance-note"} {
		if status, _ := p.get(path); status != http.StatusNotFound {
			t.Errorf("%s: status %d, want 404", path, status)
		}
	}
	if strings.Contains(fmt.Sprint(p.said), "CDS") {
		t.Errorf("said %q", p.said)
	}
}
