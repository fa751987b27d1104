package review

import (
	"testing"
	"testing/synctest"
	"time"
)

func TestVacancyEndsWhenEverythingHasLeft(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		over := 0
		v := newVacancy(time.Minute, func() { over++ })
		at := func(d time.Duration, want int) {
			t.Helper()
			<-time.NewTimer(d).C // of the test's own clock
			synctest.Wait()
			if over != want {
				t.Fatalf("it was over %d times, want %d", over, want)
			}
		}
		at(59*time.Second, 0)
		page, task := v.enter(), v.enter()
		page()
		page() // leaving twice counts once
		at(time.Hour, 0)
		task()
		at(59*time.Second, 0)
		page = v.enter() // a reload
		page()
		at(59*time.Second, 0)
		at(2*time.Second, 1)
	})
}

func TestNoVacancyWithoutATime(t *testing.T) {
	v := newVacancy(0, func() { t.Error("it was over") })
	v.enter()()
	v.stop()
}
