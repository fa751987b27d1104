package main

import (
	"bytes"
	"context"
	"encoding/json"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"slices"
	"testing"

	"pushcue/internal/ffmpeg"
	"pushcue/internal/job"
	"pushcue/internal/placing"
)

const kept = "../../testdata/demo"

func TestDemoIsWhatTheCommandMakes(t *testing.T) {
	for name, write := range map[string]func(io.Writer) error{
		"registro.csv": writeLog, "job.toml": writeSheet,
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
	size := int64(0)
	err := filepath.WalkDir(kept, func(_ string, d fs.DirEntry, err error) error {
		if err != nil || d.IsDir() {
			return err
		}
		info, err := d.Info()
		if err == nil {
			size += info.Size()
		}
		return err
	})
	if err != nil {
		t.Fatal(err)
	}
	if size > 8<<20 {
		t.Errorf("the demo job takes %d bytes, 8 MiB is the most", size)
	}
}

// The truth comes from the painter, which knows where the head was in every
// frame; the placing sees the log and the recording alone.
func TestDemoIsPlacedWhereItWasSeen(t *testing.T) {
	ctx := context.Background()
	tools, err := ffmpeg.Find(ctx, ffmpeg.Where{Cache: ffmpeg.UserCache()})
	if err != nil {
		t.Fatalf("%v (scripts/test installs what tests need)", err)
	}
	// In a folder of its own, since what is read off the pictures is kept beside them.
	j := filepath.Join(t.TempDir(), "demo")
	if err := os.CopyFS(j, os.DirFS(kept)); err != nil {
		t.Fatal(err)
	}
	visit, err := job.Open(ctx, job.Ask{Path: j})
	if err != nil {
		t.Fatal(err)
	}
	placed, err := placing.Place(ctx, tools, visit.Jobs[0], placing.PlaceOptions{})
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
	if len(placed.Spoken) != 1 || !slices.Equal(placed.Spoken[0].Rows, []int{3}) || placed.Spoken[0].Sound == nil {
		t.Errorf("the spoken note: %+v", placed.Spoken)
	}
	if len(placed.Photos) != 1 || !slices.Equal(placed.Photos[0].Rows, []int{1}) {
		t.Errorf("the photo: %+v", placed.Photos)
	}
	const frame = 0.04
	exact := 0
	for _, o := range all {
		was := truth.Rows[o.Row-1]
		at, half := o.Video.Seconds(), o.Uncertainty.Seconds()
		if at >= was.From-frame && at <= was.To+frame {
			exact++
		}
		if at < was.From-half || at > was.To+half {
			t.Errorf("row %d (%s) is placed at %.2f s ± %.2f s; the camera saw it from %.2f to %.2f s", was.Row, was.What, at, half, was.From, was.To)
		}
	}
	if exact < len(all)-1 {
		t.Errorf("%d of %d rows are placed where the camera saw them", exact, len(all))
	}
}
