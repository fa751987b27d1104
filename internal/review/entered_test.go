package review

import (
	"encoding/json"
	"fmt"
	"io"
	"net/http"
	"os"
	"path/filepath"
	"strings"
)

// Enter has a client let in by an invitation's address, as a page is.
func Enter(address string) (client *http.Client, err error) {
	origin, token, _ := strings.Cut(address, "/#enter=")
	r, err := http.NewRequest(http.MethodPost, origin+"/api/enter", strings.NewReader(`{"token":"`+token+`"}`))
	if err != nil {
		return nil, err
	}
	r.Header.Set("Content-Type", "application/json")
	r.Header.Set("X-Pushcue", "1")
	answer, err := http.DefaultClient.Do(r)
	if err != nil {
		return nil, err
	}
	defer answer.Body.Close()
	text, err := io.ReadAll(answer.Body)
	if err != nil || answer.StatusCode != http.StatusOK {
		return nil, fmt.Errorf("%d %s %w", answer.StatusCode, text, err)
	}
	in := &entered{}
	if err := json.Unmarshal(text, &in.session); err != nil {
		return nil, err
	}
	return &http.Client{Transport: in}, nil
}

// entered signs requests as server.js does.
type entered struct{ session session }

func (e *entered) RoundTrip(r *http.Request) (*http.Response, error) {
	r = r.Clone(r.Context())
	r.Header.Set(keyHeader, e.session.Key)
	return http.DefaultTransport.RoundTrip(r)
}

// sessionOf is what a client was let in with.
func sessionOf(client *http.Client) session { return client.Transport.(*entered).session }

// SignsFetches has a script's own fetch carry the key of the tab it runs in.
const SignsFetches = `if (!window.plainFetch) {
	window.plainFetch = window.fetch;
	window.fetch = (what, how = {}) => {
		const s = JSON.parse(sessionStorage.getItem("session"));
		return window.plainFetch(what, {...how, headers: {...(s ? {"X-Pushcue-Key": s.key} : {}), ...(how.headers || {})}});
	};
}`

// DrivesOfTests has the folder that tests work in stand for a drive.
func DrivesOfTests() []string {
	real, err := filepath.EvalSymlinks(os.TempDir())
	if err != nil {
		return nil
	}
	return []string{real}
}

// PassesEvents is a script that has a page hear only those of the program's events that
// a function says yes to.
func PassesEvents(passes string) string {
	return `{
	const fetched = window.fetch, passes = ` + passes + `;
	window.fetch = async (what, how) => {
		const answer = await fetched(what, how);
		if (!String(what).startsWith("/api/events") || !answer.ok) return answer;
		let text = "";
		const sieve = new TransformStream({ transform(chunk, out) {
			const blocks = (text + chunk).split("\n\n");
			text = blocks.pop();
			for (const block of blocks) if (passes(block)) out.enqueue(block + "\n\n");
		} });
		return new Response(answer.body.pipeThrough(new TextDecoderStream()).pipeThrough(sieve).pipeThrough(new TextEncoderStream()));
	};
}`
}
