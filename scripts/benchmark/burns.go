package main

import (
	"context"
	"fmt"
	"maps"
	"os"
	"path/filepath"
	"slices"
	"strings"

	"pushcue/internal/ffmpeg"
	"pushcue/internal/handover"
	"pushcue/internal/job"
	"pushcue/internal/placing"
	"pushcue/overlay"
	"pushcue/timeline/words"
)

// burns are the two burns of a job as somebody would type them for bare ffmpeg:
// the whole recording with its captions, and the excerpts with their notes.
// The caption scripts are made beforehand and cost the bare side nothing.
type burns struct {
	folder  string
	picture string // what crops the captioned video to the filmed picture
	whole   []string
	part    []string
}

func (b *bench) burns(ctx context.Context, j, recording string) (*burns, error) {
	tools, err := ffmpeg.Find(ctx, ffmpeg.Where{Cache: ffmpeg.UserCache()})
	if err != nil {
		return nil, err
	}
	visit, err := job.Open(ctx, job.Ask{Path: j})
	if err != nil {
		return nil, err
	}
	placed, err := placing.Place(ctx, tools, visit.Jobs[0], placing.PlaceOptions{})
	if err != nil {
		return nil, err
	}
	t := placed.Timeline
	language, err := words.For(t.Sheet.Job.Language)
	if err != nil {
		return nil, err
	}
	spec := overlay.Spec{Width: placed.Recording.Width, Height: placed.Recording.Height, Captions: t.Sheet.Captions}
	place, _ := overlay.NewLayout(t, language, spec)
	spec.Notes = true
	notes, _ := overlay.NewLayout(t, language, spec)
	plan := overlay.PlanFindings(t)

	out := &burns{folder: filepath.Join(b.work, "bare")}
	if err := os.MkdirAll(filepath.Join(out.folder, "fonts"), 0o755); err != nil {
		return nil, err
	}
	if err := os.WriteFile(filepath.Join(out.folder, "fonts", "captions.ttf"), overlay.FontFile(), 0o644); err != nil {
		return nil, err
	}
	for name, script := range map[string]overlay.Script{"place.ass": place.PlaceScript(t.ShowFrom, t.ShowTo), "notes.ass": notes.NotesScript()} {
		f, err := os.Create(filepath.Join(out.folder, name))
		if err != nil {
			return nil, err
		}
		if _, err := script.WriteTo(f); err != nil {
			return nil, err
		}
		if err := f.Close(); err != nil {
			return nil, err
		}
	}
	at := place.Picture
	out.picture = fmt.Sprintf("crop=%d:%d:%d:%d", at.Dx(), at.Dy(), at.Min.X, at.Min.Y)
	pick, closeUp, hear := excerpts(plan, 30)
	out.whole = bare(recording, burn(place, "place.ass"), "", handover.Encoding(placed, tools.Encoder, place, nil), "whole.mp4")
	out.part = bare(recording, pick+","+burn(notes, "notes.ass")+","+closeUp, hear, handover.Encoding(placed, tools.Encoder, notes, &plan), "excerpts.mp4")
	return out, nil
}

func burn(l *overlay.Layout, script string) string {
	return fmt.Sprintf("pad=%d:%d:%d:%d,ass=%s:fontsdir=fonts", l.Width, l.Height, l.Picture.Min.X, l.Picture.Min.Y, script)
}

// excerpts selects the plan's frames and their sound.
func excerpts(plan overlay.Findings, rate float64) (pick, closeUp, hear string) {
	var frames, times []string
	for _, r := range plan.Ranges {
		frames = append(frames, fmt.Sprintf("between(n,%d,%d)", r.First, r.Last))
		times = append(times, fmt.Sprintf("between(t,%.4f,%.4f)", float64(r.First)/rate, float64(r.Last+1)/rate))
	}
	pick = "select='" + strings.Join(frames, "+") + "'"
	closeUp = "setpts=N/(" + fmt.Sprint(rate) + "*TB)"
	hear = "aselect='" + strings.Join(times, "+") + "',asetpts=N/SR/TB"
	return pick, closeUp, hear
}

// bare is one burn with the settings that a handover's video has.
func bare(recording, filters, sound string, settings map[string]any, out string) []string {
	args := []string{"-nostdin", "-v", "error", "-y", "-i", recording, "-vf", filters}
	if sound != "" {
		args = append(args, "-af", sound)
	}
	for _, name := range slices.Sorted(maps.Keys(settings)) {
		args = append(args, "-"+name, fmt.Sprint(settings[name]))
	}
	return append(args, out)
}

// both burns one after the other.
func (r *burns) both(ctx context.Context) (usage, error) {
	u, err := measure(ctx, r.folder, nil, "ffmpeg", r.whole...)
	if err != nil {
		return u, err
	}
	v, err := measure(ctx, r.folder, nil, "ffmpeg", r.part...)
	return u.plus(v), err
}
