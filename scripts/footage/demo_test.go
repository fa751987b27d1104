package main

import (
	"bytes"
	"context"
	"encoding/json"
	"io"
	"os"
	"path/filepath"
	"testing"

	"pushcue/internal/ffmpeg"
	"pushcue/internal/handover"
)

const kept = "../../testdata/demo"

func TestDemoIsWhatTheCommandMakes(t *testing.T) {
	for name, write := range map[string]func(io.Writer) error{
		"registro.csv": writeLog, "contador.csv": writeReadings, "job.toml": writeSheet,
	} {
		want, err := os.ReadFile(filepath.Join(kept, name))
		if err != nil {
			t.Fatal(err)
		}
		var got bytes.Buffer
		if err := write(&got); err != nil || !bytes.Equal(got.Bytes(), want) {
			t.Errorf("%s is out of date: go run ./scripts/footage demo (%v)", name, err)
		}
	}
}

func TestDemoIsSmall(t *testing.T) {
	entries, err := os.ReadDir(kept)
	if err != nil {
		t.Fatal(err)
	}
	size := int64(0)
	for _, e := range entries {
		info, err := e.Info()
		if err != nil {
			t.Fatal(err)
		}
		size += info.Size()
	}
	if size > 8<<20 {
		t.Errorf("the demo job takes %d bytes, 8 MiB is the most", size)
	}
}

// The truth comes from the painter, which knows where the head was in every
// frame; the placing sees the log, the readings and the recording alone.
func TestDemoIsPlacedWhereItWasSeen(t *testing.T) {
	ctx := context.Background()
	tools, err := ffmpeg.Find(ctx, ffmpeg.Where{})
	if err != nil {
		t.Fatalf("%v (scripts/test installs what tests need)", err)
	}
	visit, err := handover.Open(ctx, handover.Ask{Path: kept})
	if err != nil {
		t.Fatal(err)
	}
	placed, err := handover.Place(ctx, tools, visit.Jobs[0], handover.PlaceOptions{})
	if err != nil {
		t.Fatal(err)
	}
	var truth struct{ Rows []seen }
	text, err := os.ReadFile(kept + "-truth.json")
	if err != nil {
		t.Fatal(err)
	}
	if err := json.Unmarshal(text, &truth); err != nil {
		t.Fatal(err)
	}
	all := placed.Timeline.Observations
	if len(all) != len(truth.Rows) || len(all) == 0 {
		t.Fatalf("%d rows placed of %d", len(all), len(truth.Rows))
	}
	const frame = 0.04
	for _, o := range all {
		was := truth.Rows[o.Row-1]
		if at := o.Video.Seconds(); at < was.From-frame || at > was.To+frame {
			t.Errorf("row %d (%s) is placed at %.2f s; the camera saw it from %.2f to %.2f s", was.Row, was.What, at, was.From, was.To)
		}
	}
}
