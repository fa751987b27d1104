package main

import (
	"errors"
	"io"
	"slices"
	"strings"
	"testing"
)

func TestFlagsMayStandAnywhere(t *testing.T) {
	want := []string{"pushcue", "make", "--out=x y", "--quiet", "--only=stills,log", "--", "jobs/a"}
	for _, argv := range []string{
		"pushcue make --out=x_y --quiet --only stills,log jobs/a",
		"pushcue make jobs/a --out x_y --quiet --only=stills,log",
		"pushcue --out x_y make --quiet jobs/a --only stills,log",
		"pushcue --out x_y --quiet --only stills,log make -- jobs/a",
	} {
		args := strings.Split(argv, " ")
		for i := range args {
			args[i] = strings.ReplaceAll(args[i], "_", " ")
		}
		got, err := inOrder(newApp(io.Discard, io.Discard), args)
		if err != nil || !slices.Equal(got, want) {
			t.Errorf("%s\n got %q, %v\nwant %q", argv, got, err, want)
		}
	}
}

func TestAfterTwoHyphensAllIsAnArgument(t *testing.T) {
	got, err := inOrder(newApp(io.Discard, io.Discard), []string{"pushcue", "check", "--quiet", "--", "--odd-folder"})
	if want := []string{"pushcue", "check", "--quiet", "--", "--odd-folder"}; err != nil || !slices.Equal(got, want) {
		t.Errorf("got %q, %v", got, err)
	}
}

func TestWrongFlagsAreRefusedWithTheNearest(t *testing.T) {
	for argv, want := range map[string]string{
		"pushcue make j --skpi clips":   "--skip",
		"pushcue make j --qiuck":        "--quick",
		"pushcue check j --only stills": "a flag of: pushcue make",
		"pushcue check j --wyh=3":       "--why",
		"pushcue chekc j":               "pushcue check",
		"pushcue --only stills":         "say what to do",
		"pushcue make j --out":          "pushcue make --help",
	} {
		_, err := inOrder(newApp(io.Discard, io.Discard), strings.Split(argv, " "))
		var usage *usageError
		if !errors.As(err, &usage) || !strings.Contains(usage.hint, want) {
			t.Errorf("%s: got %v %+v, want a hint with %q", argv, err, usage, want)
		}
	}
}
