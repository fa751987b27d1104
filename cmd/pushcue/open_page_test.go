package main

import (
	"context"
	"errors"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"testing/synctest"
	"time"
)

// How long the browser has and what becomes of the file that leads it in, by a clock that
// the test moves.
func TestTheBrowserIsLedInForTwoMinutes(t *testing.T) {
	t.Setenv("HOME", t.TempDir())
	t.Setenv("USERPROFILE", os.Getenv("HOME"))
	t.Setenv("XDG_CONFIG_HOME", "")
	t.Setenv("XDG_CACHE_HOME", "")
	t.Setenv("LocalAppData", "")
	const address = "http://127.0.0.1:4711/#enter=SECRETTOKEN"
	for _, c := range []struct {
		name   string
		used   time.Duration // after this the page came in; 0: never
		ended  time.Duration // after this the program ends; 0: never
		fails  error         // of opening
		tells  int           // how often the address is printed
		before time.Duration // not printed before
		lasts  time.Duration // until openPage returns
	}{
		{"the browser opens it at once", time.Second, 0, nil, 0, 0, time.Second},
		{"just in time", 10*time.Second - 1, 0, nil, 0, 0, 10*time.Second - 1},
		{"later", 30 * time.Second, 0, nil, 1, 10 * time.Second, 30 * time.Second},
		{"never", 0, 0, nil, 1, 10 * time.Second, 2 * time.Minute},
		{"nothing opens it here, and a person does", time.Minute, 0, errors.New("no browser"), 1, 0, time.Minute},
		{"nothing opens it here", 0, 0, errors.New("no browser"), 1, 0, 2 * time.Minute},
		{"the program ends first", 0, 3 * time.Second, nil, 0, 0, 3 * time.Second},
	} {
		t.Run(c.name, func(t *testing.T) {
			synctest.Test(t, func(t *testing.T) {
				ctx, end := context.WithCancel(t.Context())
				defer end()
				var errs oneWriter
				lead, used := "", make(chan struct{})
				if c.used > 0 {
					time.AfterFunc(c.used, func() { close(used) })
				}
				if c.ended > 0 {
					time.AfterFunc(c.ended, end)
				}
				began := time.Now()
				if c.before > 0 {
					time.AfterFunc(c.before-1, func() {
						if said := errs.String(); said != "" {
							t.Errorf("told too early: %s", said)
						}
					})
				}
				openPage(ctx, &errs, address, used, func(_ context.Context, path string) error {
					lead = path
					if text, err := os.ReadFile(path); err != nil || !strings.Contains(string(text), address) || strings.Contains(path, "SECRETTOKEN") {
						t.Errorf("the browser was given %s: %q %v", path, text, err)
					}
					return c.fails
				})
				if lasted := time.Since(began); lasted != c.lasts {
					t.Errorf("it returned after %s, want %s", lasted, c.lasts)
				}
				if said := errs.String(); strings.Count(said, address) != c.tells || c.tells > 0 && !strings.Contains(said, lead) {
					t.Errorf("told %d times, want %d: %s", strings.Count(said, address), c.tells, said)
				}
				if _, err := os.Stat(filepath.Dir(lead)); !os.IsNotExist(err) {
					t.Errorf("the file stays: %v", err)
				}
			})
		})
	}
}

// Where no file can be written for the browser, the address is all that is left.
func TestWithoutAPlaceForTheFileTheAddressIsPrinted(t *testing.T) {
	nowhere := filepath.Join(t.TempDir(), "gone")
	for _, name := range []string{"HOME", "USERPROFILE", "XDG_CONFIG_HOME", "XDG_CACHE_HOME", "LocalAppData"} {
		t.Setenv(name, nowhere)
	}
	var errs oneWriter
	openPage(t.Context(), &errs, "http://127.0.0.1:4711/#enter=X", nil, func(context.Context, string) error {
		t.Error("a browser is opened")
		return nil
	})
	if !strings.Contains(errs.String(), "http://127.0.0.1:4711/#enter=X") {
		t.Errorf("said: %s", errs.String())
	}
}
