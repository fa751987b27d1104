package ffmpeg

import (
	"bytes"
	"math/rand/v2"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"

	"pushcue/internal/reach"
	"pushcue/internal/testfootage"
	"pushcue/timeline/fault"
	"pushcue/timeline/timecode"
)

const cover = `{"index":0,"codec_type":"video","codec_name":"mjpeg","width":4000,"height":4000,"time_base":"1/90000","disposition":{"attached_pic":1}}`
const sound = `{"index":2,"codec_type":"audio","codec_name":"aac","sample_rate":"48000","channels":2,"start_time":"-0.021000"}`

func TestParseProbe(t *testing.T) {
	got, err := parseProbe([]byte(`{"streams":[` + cover + `,` + sound + `,
		{"index":1,"codec_type":"video","codec_name":"h264","width":720,"height":576,"sample_aspect_ratio":"16:15","pix_fmt":"yuv420p",
		 "field_order":"tt","color_range":"tv","color_space":"unknown","r_frame_rate":"25/1","avg_frame_rate":"0/0","time_base":"1/90000",
		 "start_time":"1.400000","nb_frames":"75","disposition":{"default":1},"side_data_list":[{"side_data_type":"x"},{"rotation":-90}]},
		{"index":3,"codec_type":"video","codec_name":"h264","width":1920,"height":1080,"time_base":"1/90000","disposition":{"default":0}}],
		"format":{"format_name":"mpegts","start_time":"1.378000","duration":"3.000100","tags":{"Creation_Time":"2026-03-02T10:02:11.000000Z"}}}`))
	if err != nil {
		t.Fatal(err)
	}
	want := &Media{
		Format: "mpegts", Start: 1378 * time.Millisecond, Duration: 3000100 * time.Microsecond,
		Video: VideoStream{
			Index: 1, Codec: "h264", Width: 720, Height: 576, SAR: timecode.Rate{Num: 16, Den: 15}, Rotation: 90,
			TimeBase: timecode.Rate{Num: 1, Den: 90000}, Nominal: timecode.Rate{Num: 25, Den: 1}, FieldOrder: "tt", Claimed: 75,
			Start: 1400 * time.Millisecond, PixelFormat: "yuv420p", Color: Color{Range: "tv"},
		},
		Others:  []string{"1920×1080 h264"},
		Audio:   &AudioStream{Index: 2, Codec: "aac", SampleRate: 48000, Channels: 2, Start: -21 * time.Millisecond},
		Created: time.Date(2026, 3, 2, 10, 2, 11, 0, time.UTC),
		Tags:    map[string]string{"creation_time": "2026-03-02T10:02:11.000000Z"},
	}
	if diff := cmp.Diff(want, got); diff != "" {
		t.Error(diff)
	}
}

func TestFilesWithoutAPicture(t *testing.T) {
	for text, want := range map[string]string{
		`{"streams":[` + cover + `],"format":{}}`:   "there is no picture",
		`{"streams":[` + cover + `,` + sound + `]}`: "sound and no picture",
		`{}`: "there is no picture",
		`{"streams":[{"codec_type":"video","codec_name":"h264","width":8,"height":8,"time_base":"0/0"}]}`: "no clock",
		`[`: "can't be read",
	} {
		if _, err := parseProbe([]byte(text)); err == nil || !strings.Contains(err.Error(), want) {
			t.Errorf("%s: %v", text, err)
		}
	}
}

func TestClocksThatWereNeverSet(t *testing.T) {
	for _, text := range []string{"1904-01-01T00:00:00.000000Z", "1970-01-01T00:00:00Z", "", "yesterday"} {
		if got := created(text); !got.IsZero() {
			t.Errorf("%q is taken for %v", text, got)
		}
	}
}

func TestRotation(t *testing.T) {
	for in, want := range map[float64]int{0: 0, -90: 90, 90: 270, 180: 180, -180: 180, 270: 90, -270: 270, 89.6: 270, 1e300: 0} {
		if got := clockwise(in); got != want {
			t.Errorf("%v: %d", in, got)
		}
	}
}

func TestWhatIsNoRecordingIsRefusedInOneSentence(t *testing.T) {
	tools := realTools(t)
	dir := t.TempDir()
	file := func(name string, b []byte) string {
		path := filepath.Join(dir, name)
		if err := os.WriteFile(path, b, 0o600); err != nil {
			t.Fatal(err)
		}
		return path
	}
	whole, err := os.ReadFile(testfootage.Numbered(t, testfootage.Spec{}))
	if err != nil {
		t.Fatal(err)
	}
	noise := make([]byte, 5000)
	random := rand.New(rand.NewPCG(1, 1))
	for i := range noise {
		noise[i] = byte(random.UintN(256))
	}
	secret := file("secret.ts", whole)
	wave := append([]byte("RIFF\x24\x10\x00\x00WAVEfmt \x10\x00\x00\x00\x01\x00\x01\x00\x40\x1f\x00\x00\x80\x3e\x00\x00\x02\x00\x10\x00data\x00\x10\x00\x00"), make([]byte, 4096)...)
	for path, want := range map[string]string{
		file("playlist.mp4", []byte("#EXTM3U\n#EXTINF:10,\n"+secret+"\n#EXT-X-ENDLIST\n")): "never followed",
		file("list.avi", []byte("\xef\xbb\xbfffconcat version 1.0\nfile 'secret.ts'\n")):   "never followed",
		file("wide.mp4", []byte("#\x00E\x00X\x00T\x00M\x003\x00U\x00")):                    "",
		file("empty.mp4", nil):                       "the file has no bytes",
		file("noise.mp4", noise):                     "not a recording that can be read",
		file("no-index.mp4", whole[:len(whole)*2/3]): "has no index",
		file("sound.mp4", wave):                      "this kind of file isn't read",
		filepath.Join(dir, "absent.mp4"):             "isn't there",
		dir:                                          "it isn't a file but a folder",
	} {
		_, err := tools.Probe(t.Context(), reach.Named(path, "part1.mp4"))
		list, ok := fault.In(err)
		if !ok || len(list) != 1 || !strings.Contains(list[0].Text.String(), want) || list[0].Hint.Empty() || list[0].File != "part1.mp4" || strings.Contains(list[0].Text.String(), "\n") {
			t.Errorf("%s: %v", filepath.Base(path), err)
		}
	}
}

func TestTextInDisguise(t *testing.T) {
	long := bytes.Repeat([]byte("aé"), headBytes)
	for text, want := range map[string]bool{
		"#EXTM3U\n":                  true,
		"\xef\xbb\xbfffconcat":       true,
		"\xff\xfe#\x00":              true,
		"<?xml version='1.0'?><MPD>": true,
		string(long[:headBytes]):     true, // cut in a letter
		string(long[:headBytes-1]):   true,
		"\x00\x00\x00\x18ftypmp42":   false,
		"RIFF\x00\x00\x00\x00AVI ":   false,
		"\x1aE\xdf\xa3":              false,
		"G\x40\x00\x10\x00":          false,
	} {
		if got := isText([]byte(text)); got != want {
			t.Errorf("%.20q: %v", text, got)
		}
	}
}

func FuzzParseProbe(f *testing.F) {
	f.Add([]byte(`{"streams":[` + cover + `,` + sound + `]}`))
	f.Add([]byte(`{"streams":[{"index":0,"codec_type":"video","codec_name":"h264","width":8,"height":8,"time_base":"1/90000","sample_aspect_ratio":"0:1","r_frame_rate":"99999999999/1","start_time":"1e9","side_data_list":[{"rotation":1e99}]}]}`))
	f.Fuzz(func(t *testing.T, b []byte) {
		m, err := parseProbe(b)
		if (m == nil) == (err == nil) {
			t.Fatalf("%v, %v", m, err)
		}
		if m == nil {
			return
		}
		v := m.Video
		if v.Width <= 0 || v.Height <= 0 || v.TimeBase.Num <= 0 || v.TimeBase.Den <= 0 || v.SAR.Num <= 0 || v.SAR.Den <= 0 || v.Rotation%90 != 0 || v.Rotation < 0 || v.Rotation > 270 || m.Duration < 0 {
			t.Fatalf("%+v", m)
		}
	})
}

func FuzzParsePacket(f *testing.F) {
	for _, line := range []string{"pts=0|dts=-2048|duration=1024|flags=K_", "pts=N/A|dts=0|duration=1|flags=KD", "pts=1|flags=__|", "", "|||", "pts=99999999999999999999", "flags"} {
		f.Add([]byte(line))
	}
	f.Fuzz(func(t *testing.T, line []byte) {
		before := bytes.Clone(line)
		p, ok := parsePacket(line)
		if ok && p.Duration < 0 || !p.HasPTS && p.PTS != 0 {
			t.Fatalf("%q: %+v", line, p)
		}
		if !bytes.Equal(before, line) {
			t.Fatal("the line was written to")
		}
		parseFrame(line)
	})
}

func TestParsePacket(t *testing.T) {
	for line, want := range map[string]Packet{
		"pts=0|dts=-2048|duration=1024|flags=K_":  {PTS: 0, HasPTS: true, DTS: -2048, HasDTS: true, Duration: 1024, Key: true},
		"pts=N/A|dts=7|duration=N/A|flags=_D":     {DTS: 7, HasDTS: true, Discard: true},
		"pts=12|dts=N/A|duration=-1|flags=__C":    {PTS: 12, HasPTS: true, Corrupt: true},
		"pts=5|dts=5|duration=1|flags=K__|more=1": {PTS: 5, HasPTS: true, DTS: 5, HasDTS: true, Duration: 1, Key: true},
	} {
		if got, ok := parsePacket([]byte(line)); !ok || got != want {
			t.Errorf("%s: %+v", line, got)
		}
	}
}
