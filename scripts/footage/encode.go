package main

import (
	"context"
	"fmt"
	"io"
	"os"

	"pushcue/internal/footage"
	"pushcue/internal/testfootage"
)

// encode paints a recording into path and returns what was true of it.
func encode(ctx context.Context, scene footage.Scene, rec footage.Recorder, sound bool, path string, output ...string) (footage.Truth, error) {
	shoot, err := footage.NewShoot(scene, rec)
	if err != nil {
		return footage.Truth{}, err
	}
	args := []string{"-f", "rawvideo", "-pix_fmt", "yuv420p", "-s", fmt.Sprintf("%dx%d", rec.Width, rec.Height),
		"-r", fmt.Sprint(rec.Rate), "-i", "pipe:0"}
	if sound {
		heard, err := os.CreateTemp("", "footage-*.s16")
		if err != nil {
			return footage.Truth{}, err
		}
		defer os.Remove(heard.Name())
		defer heard.Close()
		if err := scene.WriteSound(heard, rec); err != nil {
			return footage.Truth{}, err
		}
		args = append(args, "-f", "s16le", "-ar", fmt.Sprint(footage.SoundRate), "-ac", "1", "-i", heard.Name())
	}
	err = testfootage.Encode(ctx, func(w io.Writer) error {
		for shoot.Next() {
			if _, err := w.Write(shoot.Frame()); err != nil {
				return err
			}
		}
		return nil
	}, append(append(args, output...), path)...)
	return shoot.Truth(), err
}
