package review

import (
	"fmt"
	"io"
	"net"
	"net/http"
	"os"
	"path/filepath"
	"strings"
	"testing"
)

// raw sends a request as somebody would who isn't a page, and returns the answer's
// first line and all of it.
func (b *browser) raw(request string) (status int, answer string) {
	b.t.Helper()
	c, err := net.Dial("tcp", b.server.listener.Addr().String())
	if err != nil {
		b.t.Fatal(err)
	}
	defer c.Close()
	if _, err := io.WriteString(c, request); err != nil {
		return 0, err.Error()
	}
	text, _ := io.ReadAll(c) // what is far too long is cut off
	_, _ = fmt.Sscanf(string(text), "HTTP/1.1 %d", &status)
	return status, string(text)
}

// key is the header that a page is known by.
func (b *browser) key() string { return keyHeader + ": " + sessionOf(b.client).Key + "\r\n" }

func TestStrangersAreTurnedAway(t *testing.T) {
	b, _ := demo(t)
	host := b.server.listener.Addr().String()
	mine := b.key()
	post := "Content-Type: application/json\r\nX-Pushcue: 1\r\nContent-Length: 2\r\n"
	for name, c := range map[string]struct {
		request string
		want    int
	}{
		"the page itself":         {"GET /api/job HTTP/1.1\r\nHost: " + host + "\r\n" + mine, 200},
		"another host":            {"GET /api/job HTTP/1.1\r\nHost: example.org\r\n" + mine, 421},
		"another port":            {"GET /api/job HTTP/1.1\r\nHost: 127.0.0.1:1\r\n" + mine, 421},
		"a name that points here": {"GET /api/job HTTP/1.1\r\nHost: evil.example:80\r\n" + mine, 421},
		"no host":                 {"GET /api/job HTTP/1.1\r\nHost:\r\n" + mine, 421},
		"another page":            {"GET /api/job HTTP/1.1\r\nHost: " + host + "\r\nOrigin: http://example.org\r\n" + mine, 403},
		"another page's frame":    {"GET /api/job HTTP/1.1\r\nHost: " + host + "\r\nSec-Fetch-Site: cross-site\r\n" + mine, 403},
		"another port's page":     {"GET /api/job HTTP/1.1\r\nHost: " + host + "\r\nSec-Fetch-Site: same-site\r\n" + mine, 403},
		"null origin":             {"POST /api/undo HTTP/1.1\r\nHost: " + host + "\r\nOrigin: null\r\n" + post + mine, 403},
		"no token":                {"GET /api/job HTTP/1.1\r\nHost: " + host + "\r\n", 403},
		"a wrong token":           {"GET /api/job HTTP/1.1\r\nHost: " + host + "\r\n" + keyHeader + ": AAAA\r\n", 403},
		"the token elsewhere":     {"GET /api/job?token=" + sessionOf(b.client).Key + " HTTP/1.1\r\nHost: " + host + "\r\n", 403},
		"the key as a cookie":     {"GET /api/job HTTP/1.1\r\nHost: " + host + "\r\nCookie: " + keyHeader + "=" + sessionOf(b.client).Key + "\r\n", 403},
		"a form":                  {"POST /api/undo HTTP/1.1\r\nHost: " + host + "\r\nContent-Type: application/x-www-form-urlencoded\r\nContent-Length: 2\r\n" + mine, 415},
		"a form as text":          {"POST /api/undo HTTP/1.1\r\nHost: " + host + "\r\nContent-Type: text/plain\r\nX-Pushcue: 1\r\nContent-Length: 2\r\n" + mine, 415},
		"without our header":      {"POST /api/undo HTTP/1.1\r\nHost: " + host + "\r\nContent-Type: application/json\r\nContent-Length: 2\r\n" + mine, 415},
		"another method":          {"DELETE /api/job HTTP/1.1\r\nHost: " + host + "\r\n" + mine, 405},
		"pre-flight":              {"OPTIONS /api/edit HTTP/1.1\r\nHost: " + host + "\r\nOrigin: http://example.org\r\nAccess-Control-Request-Method: POST\r\n", 403},
	} {
		body := ""
		if strings.Contains(c.request, "Content-Length: 2") {
			body = "{}"
		}
		status, answer := b.raw(c.request + "Connection: close\r\n\r\n" + body)
		if status != c.want {
			t.Errorf("%s: %d %.200s", name, status, answer)
		}
		if strings.Contains(answer, "Access-Control-Allow") {
			t.Errorf("%s: lets another page in", name)
		}
		if !strings.Contains(answer, "Content-Security-Policy: default-src 'none'") || !strings.Contains(answer, "nosniff") {
			t.Errorf("%s: without its policy: %.300s", name, answer)
		}
	}
}

func TestNothingOutsideTheJobIsServed(t *testing.T) {
	b, dir := demo(t)
	write(t, filepath.Join(filepath.Dir(dir), "secret.txt"), "SECRET")
	if err := os.MkdirAll(filepath.Join(dir, "handover"), 0o755); err != nil {
		t.Fatal(err)
	}
	write(t, filepath.Join(dir, "handover", "here.txt"), "here")
	_ = os.Symlink(filepath.Join(filepath.Dir(dir), "secret.txt"), filepath.Join(dir, "handover", "link.txt"))
	_ = os.Symlink(filepath.Dir(dir), filepath.Join(dir, "handover", "up"))
	t.Cleanup(func() { _ = os.RemoveAll(filepath.Join(dir, "handover")) })
	host := b.server.listener.Addr().String()
	ups := []string{"..", "%2e%2e", "%2E%2e", "..%2f..", "%2e%2e%2f%2e%2e", "..%5c..", "..\\..", "%252e%252e", "....//", "..;", ".%00./..", "//"}
	bases := []string{"/handover/", "/page/", "/media/spoken/", "/media/photo/", "/media/part/", "/media/proxy/", "/", "/api/"}
	for _, base := range bases {
		for _, up := range ups {
			for _, end := range []string{"/secret.txt", "/../secret.txt", "/77-A/job.toml", "/../../../../../../../etc/hostname", "%2fsecret.txt", "\\secret.txt"} {
				path := base + up + end
				status, answer := b.raw("GET " + path + " HTTP/1.1\r\nHost: " + host + "\r\n" + b.key() + "Connection: close\r\n\r\n")
				if status == 200 || strings.Contains(answer, "SECRET") || strings.Contains(answer, "[recording]") {
					t.Errorf("%s: %d %.300s", path, status, answer)
				}
			}
		}
	}
	for path, want := range map[string]int{
		"/handover/here.txt": 200, "/handover/link.txt": 404, "/handover/up/secret.txt": 404, "/handover/": 404, "/handover": 404,
		"/media/spoken/job.toml": 404, "/media/spoken/edits.jsonl": 404, "/media/photo/log.csv": 404, "/media/spoken/part1.mp4": 404, "/media/part/0": 200, "/media/part/2": 404, "/media/part/-1": 404,
		"/page/review.js": 200, "/page/../review_test.go": 404, "/api/job?job=1": 404, "/api/job?job=-1": 404, "/api/job?job=x": 404, "/edits.jsonl": 404,
	} {
		status, _ := b.raw("GET " + path + " HTTP/1.1\r\nHost: " + host + "\r\n" + b.key() + "Connection: close\r\n\r\n")
		if status != want && !(want == 404 && (status == 301 || status == 307)) {
			t.Errorf("%s: %d, wanted %d", path, status, want)
		}
	}
}

func TestARangeOfThePartIsServed(t *testing.T) {
	b, dir := demo(t)
	whole, err := os.ReadFile(filepath.Join(dir, "part1.mp4"))
	if err != nil {
		t.Fatal(err)
	}
	r, _ := http.NewRequest(http.MethodGet, b.server.origin()+"/media/part/0", nil)
	r.Header.Set("Range", "bytes=100-299")
	answer, err := b.client.Do(r)
	if err != nil {
		t.Fatal(err)
	}
	defer answer.Body.Close()
	got, _ := io.ReadAll(answer.Body)
	if answer.StatusCode != http.StatusPartialContent || string(got) != string(whole[100:300]) || answer.Header.Get("Content-Type") != "video/mp4" {
		t.Errorf("%d, %d bytes, %s", answer.StatusCode, len(got), answer.Header.Get("Content-Type"))
	}
}

func TestHugeBodiesAreRefused(t *testing.T) {
	b, _ := demo(t)
	huge := `{"what":"set","row":1,"values":{"note":"` + strings.Repeat("x", mostBody) + `"}}`
	if status, _ := b.post("/api/edit", huge); status != http.StatusRequestEntityTooLarge {
		t.Errorf("%d", status)
	}
	deep := strings.Repeat(`{"values":`, 100_000)
	if status, _ := b.post("/api/edit", deep); status != http.StatusBadRequest {
		t.Errorf("%d", status)
	}
	host := b.server.listener.Addr().String()
	status, _ := b.raw("GET /api/job HTTP/1.1\r\nHost: " + host + "\r\nX-Long: " + strings.Repeat("y", 1<<20) + "\r\nConnection: close\r\n\r\n")
	if status != http.StatusRequestHeaderFieldsTooLarge && status != 0 {
		t.Errorf("a header of a megabyte: %d", status)
	}
	b.edit(`{"what":"set","row":1,"values":{"note":"` + strings.Repeat("<script>alert(1)</script>\\u202e\\n", 400) + `"}}`)
}
