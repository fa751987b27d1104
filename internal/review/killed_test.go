package review

import (
	"bufio"
	"context"
	"encoding/json"
	"fmt"
	"io"
	"math/rand/v2"
	"net/http"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"sync"
	"testing"
	"time"

	"pushcue/internal/job"
	"pushcue/internal/soak"
	"pushcue/internal/testbrowser"
	"pushcue/timeline/edits"
)

const childOf = "PUSHCUE_TEST_REVIEW"

// TestMain lets the test's own program be the one that is killed, and the tests that
// look at the page share a browser.
func TestMain(m *testing.M) {
	dir := os.Getenv(childOf)
	if dir == "" {
		os.Exit(allTests(func() int { return testbrowser.Shared(m) }))
	}
	ask := job.Ask{Path: dir}
	visit, err := job.Open(context.Background(), ask)
	if err != nil {
		fmt.Println(err)
		os.Exit(1)
	}
	s, err := Listen(Options{Visit: visit, Ask: ask, Author: "ana", Tools: findTools})
	if err != nil {
		fmt.Println(err)
		os.Exit(1)
	}
	fmt.Println(s.Invite().Address)
	fmt.Println(s.Serve(context.Background()))
}

// Whatever moment the program dies at, no correction that a page was told of is lost,
// and the file can be read.
func TestNothingAcknowledgedIsLostWhenTheProgramIsKilled(t *testing.T) {
	rounds := soak.Count(2, 20)
	dir := jobFolder(t, demoSheet, demoLog)
	told := map[string]bool{}
	for round := range rounds {
		for _, id := range killed(t, dir, round) {
			told[id] = true
		}
		text, err := os.ReadFile(filepath.Join(dir, edits.File))
		if err != nil {
			t.Fatal(err)
		}
		list := edits.Read(edits.File, text)
		for id := range told {
			if _, there := list.Find(id); !there {
				t.Errorf("round %d: correction %s was acknowledged and is lost", round, id)
			}
		}
		if len(list.Faults) > round+1 { // at most one torn line each time
			t.Errorf("round %d: %v", round, list.Faults)
		}
	}
	if len(told) < rounds {
		t.Errorf("only %d corrections were made in all: nothing was tried", len(told))
	}
}

// killed starts the program, corrects as fast as three pages can, kills it, and
// returns what was acknowledged.
func killed(t *testing.T, dir string, round int) (told []string) {
	self, err := os.Executable()
	if err != nil {
		t.Fatal(err)
	}
	child := exec.Command(self)
	child.Env = append(os.Environ(), childOf+"="+dir)
	out, err := child.StdoutPipe()
	if err != nil {
		t.Fatal(err)
	}
	if err := child.Start(); err != nil {
		t.Fatal(err)
	}
	defer func() { _ = child.Wait() }()
	defer func() { _ = child.Process.Kill() }()
	line, err := bufio.NewReader(out).ReadString('\n')
	if err != nil || !strings.HasPrefix(line, "http://") {
		t.Fatalf("%q %v", line, err)
	}
	address := strings.TrimSpace(line)
	origin, _, _ := strings.Cut(address, "/#")
	client, err := Enter(address)
	if err != nil {
		t.Fatal(err)
	}

	first := make(chan struct{})
	started := sync.OnceFunc(func() { close(first) })
	var mu sync.Mutex
	var pages sync.WaitGroup
	for p := range 3 {
		pages.Go(func() {
			for n := 0; ; n++ {
				id, err := note(client, origin, fmt.Sprintf("round %d page %d note %d", round, p, n))
				if err != nil {
					return // it is dead
				}
				mu.Lock()
				told = append(told, id)
				mu.Unlock()
				started()
			}
		})
	}
	select {
	case <-first:
	case <-time.After(limit):
		t.Fatal("no correction was ever taken")
	}
	<-time.After(time.Duration(rand.IntN(120)) * time.Millisecond) // any moment will do
	_ = child.Process.Kill()
	pages.Wait()
	return told
}

// note makes a correction and returns the one that the program says was the last.
func note(client *http.Client, origin, text string) (id string, err error) {
	body, _ := json.Marshal(map[string]any{"what": "sheet", "values": map[string]any{"job.reason": text}})
	r, err := http.NewRequest(http.MethodPost, origin+"/api/edit", strings.NewReader(string(body)))
	if err != nil {
		return "", err
	}
	r.Header.Set("Content-Type", "application/json")
	r.Header.Set("X-Pushcue", "1")
	answer, err := client.Do(r)
	if err != nil {
		return "", err
	}
	defer answer.Body.Close()
	got, err := io.ReadAll(answer.Body)
	if err != nil {
		return "", err
	}
	var s struct {
		Edits []struct{ ID, Text string } `json:"edits"`
	}
	if err := json.Unmarshal(got, &s); err != nil || answer.StatusCode != http.StatusOK {
		return "", fmt.Errorf("%d %s", answer.StatusCode, got)
	}
	for _, e := range s.Edits {
		if strings.HasSuffix(e.Text, text) {
			return e.ID, nil
		}
	}
	return "", fmt.Errorf("acknowledged without being listed: %s", text)
}
