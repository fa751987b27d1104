package otio

import (
	"bytes"
	"encoding/json"
	"os"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"

	"pushcue/timeline/timecode"
)

// plain reduces a file to what it says: fields that are empty or as they are when left out
// are dropped, and clips of the first version get the second one's form.
func plain(v any) any {
	switch v := v.(type) {
	case []any:
		out := []any{}
		for _, one := range v {
			out = append(out, plain(one))
		}
		return out
	case map[string]any:
		if v["OTIO_SCHEMA"] == "Clip.1" {
			v["OTIO_SCHEMA"], v["media_references"], v["active_media_reference_key"] = clipSchema, map[string]any{media: v["media_reference"]}, media
			delete(v, "media_reference")
		}
		out := map[string]any{}
		for key, value := range v {
			value = plain(value)
			list, isList := value.([]any)
			object, isObject := value.(map[string]any)
			if value == nil || value == "" || isList && len(list) == 0 || isObject && len(object) == 0 || key == "enabled" && value == true {
				continue
			}
			out[key] = value
		}
		return out
	}
	return v
}

func plainOf(t *testing.T, text []byte) any {
	t.Helper()
	var v any
	if err := json.Unmarshal(text, &v); err != nil {
		t.Fatal(err)
	}
	return plain(v)
}

// The samples are the format's own (testdata/reference/README.md): clips, gaps, several
// tracks, markers, media in files and missing ones. Each is read into our types, which
// must know all of its fields, and written again.
func TestPublishedSamplesComeBackAsTheyWere(t *testing.T) {
	for _, name := range []string{"simple_cut", "multitrack", "screening_example"} {
		t.Run(name, func(t *testing.T) {
			text, err := os.ReadFile("../../../testdata/reference/opentimelineio/" + name + ".otio")
			if err != nil {
				t.Fatal(err)
			}
			want := plainOf(t, text)
			known, err := json.Marshal(want)
			if err != nil {
				t.Fatal(err)
			}
			d := json.NewDecoder(bytes.NewReader(known))
			d.DisallowUnknownFields()
			line := new(Timeline)
			if err := d.Decode(line); err != nil {
				t.Fatal(err)
			}
			var b bytes.Buffer
			if err := line.Write(&b); err != nil {
				t.Fatal(err)
			}
			var got any
			if err := json.Unmarshal(b.Bytes(), &got); err != nil {
				t.Fatal(err)
			}
			enabled(got)
			if diff := cmp.Diff(want, plain(got)); diff != "" {
				t.Errorf("read and written again (-sample +ours):\n%s", diff)
			}
		})
	}
}

// enabled undoes that a field that was left out is read as false.
func enabled(v any) {
	switch v := v.(type) {
	case []any:
		for _, one := range v {
			enabled(one)
		}
	case map[string]any:
		if v["enabled"] == false {
			v["enabled"] = true
		}
		for _, one := range v {
			enabled(one)
		}
	}
}

func TestATimeIsAWholeFrameWhereItCanBe(t *testing.T) {
	for _, tt := range []struct {
		at          time.Duration
		rate        timecode.Rate
		value, want float64
	}{
		{1280 * time.Millisecond, timecode.Rate{Num: 25, Den: 1}, 32, 25},
		{33 * time.Millisecond, timecode.Rate{Num: 30000, Den: 1001}, 1, 30000.0 / 1001}, // a container that counts milliseconds
		{50 * time.Millisecond, timecode.Rate{Num: 25, Den: 1}, 1.25, 25},                // frames spaced unevenly
		{time.Second + 7*time.Microsecond, timecode.Rate{}, 1000, 1000},
	} {
		if got := At(tt.at, tt.rate); got.Value != tt.value || got.Rate != tt.want {
			t.Errorf("%v at %v: %+v, want %v at %v", tt.at, tt.rate, got, tt.value, tt.want)
		}
	}
	if r := Between(40*time.Millisecond, 120*time.Millisecond, timecode.Rate{Num: 25, Den: 1}); r.Start.Value != 1 || r.Duration.Value != 2 {
		t.Errorf("%+v", r)
	}
}

func TestAPathOfMediaIsAnAddress(t *testing.T) {
	if got := File("as-filmed/läm 1#2.mp4", Range{}).URL; got != "as-filmed/l%C3%A4m%201%232.mp4" {
		t.Error(got)
	}
}
