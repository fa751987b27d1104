// Package soak tells tests how much to do: little in the short run, much in a soak.
// PUSHCUE_SOAK is the share of a whole night's counts, above 0 and up to 1; unset, empty
// or 0 is the short run.
package soak

import (
	"fmt"
	"math"
	"os"
	"strconv"
)

// On reports whether a soak is being run.
func On() bool { return share() > 0 }

// Count is short in the short run and full in a whole night; in between by the share,
// and never below short.
func Count(short, full int) int {
	return short + int(math.Round(share()*float64(full-short)))
}

func share() float64 {
	text := os.Getenv("PUSHCUE_SOAK")
	if text == "" {
		return 0
	}
	s, err := strconv.ParseFloat(text, 64)
	if err != nil || !(s >= 0 && s <= 1) {
		panic(fmt.Sprintf("PUSHCUE_SOAK=%s: a share from 0 to 1 is wanted", text))
	}
	return s
}
