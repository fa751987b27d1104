package review

import (
	"context"
	"errors"
	"slices"
	"sync"
	"testing"
	"testing/synctest"
	"time"
)

func TestADriveThatDoesntAnswerHoldsUpNoOther(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		var mu sync.Mutex
		asked, awake := map[string]int{}, make(chan struct{})
		free := func(path string) (int64, error) {
			mu.Lock()
			asked[path]++
			mu.Unlock()
			switch path {
			case "dead":
				<-awake
				return 3, nil
			case "slow":
				<-time.After(driveAnswers / 2)
			case "empty":
				return 0, errors.New("no medium")
			}
			return 7, nil
		}
		var d drives
		look := func() []roomOn {
			ctx, stop := context.WithTimeout(t.Context(), driveAnswers)
			defer stop()
			return d.room(ctx, []string{"dead", "slow", "empty", "quick"}, free)
		}
		others := []roomOn{{path: "slow", free: 7, answered: true}, {path: "quick", free: 7, answered: true}}
		silent := append([]roomOn{{path: "dead", free: -1}}, others...)
		began := time.Now()
		if got := look(); !slices.Equal(got, silent) {
			t.Errorf("the first look: %+v, want %+v", got, silent)
		}
		if took := time.Since(began); took != driveAnswers {
			t.Errorf("the first look took %s, want %s", took, driveAnswers)
		}
		if got := look(); !slices.Equal(got, silent) || asked["dead"] != 1 {
			t.Errorf("the second look: %+v, the dead drive asked %d times", got, asked["dead"])
		}
		close(awake)
		synctest.Wait()
		if got, want := look(), append([]roomOn{{path: "dead", free: 3, answered: true}}, others...); !slices.Equal(got, want) {
			t.Errorf("when it answers again: %+v, want %+v", got, want)
		}
	})
}
