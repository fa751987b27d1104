package testbrowser

import (
	"net/http"
	"net/http/httptest"
	"os"
	"testing"
)

func TestMain(m *testing.M) { os.Exit(Shared(m)) }

// A window that one test has used remembers nothing of it in the next, whose page would
// otherwise begin where that one had left it.
func TestAWindowRemembersNothingOfTheTestBefore(t *testing.T) {
	site := httptest.NewServer(http.NotFoundHandler())
	defer site.Close()
	var first *window
	for _, turn := range []string{"before", "after"} {
		t.Run(turn, func(t *testing.T) {
			b := Visit(t, site.URL)
			if first == nil {
				first = b.window
			} else if b.window != first {
				t.Fatal("it isn't the same window")
			}
			if n := Ask[int](b, `sessionStorage.length + localStorage.length`); n != 0 {
				t.Errorf("%d values are left", n)
			}
			b.Do(`sessionStorage.setItem("room", "handover"); localStorage.setItem("room", "handover")`)
		})
	}
}
