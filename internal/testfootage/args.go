package testfootage

import (
	"fmt"
	"strconv"
	"time"
)

// args is the command line that encodes frames from standard input into path.
func (s Spec) args(path string) []string {
	p := newPainter(s)
	args := []string{"-f", "rawvideo", "-pix_fmt", "yuv420p",
		"-s", fmt.Sprintf("%dx%d", p.width, p.height),
		"-r", fmt.Sprintf("%d/%d", s.Rate.Num, s.Rate.Den), "-i", "pipe:0"}
	if s.Audio {
		args = append(args, s.audioInput()...)
	}
	args = append(args, "-map", "0:v")
	if s.Audio {
		args = append(args, "-map", "1:a", "-c:a", s.audioCodec())
	}
	args = append(args, "-vf", s.filters())
	if s.VFR {
		args = append(args, "-vsync", "passthrough", "-enc_time_base", "1:1000")
		if s.Container == "mp4" || s.Container == "mov" {
			args = append(args, "-video_track_timescale", "1000")
		}
	}
	args = append(args, s.videoCodec()...)
	args = append(args, s.muxer()...)
	return append(args, path)
}

func (s Spec) audioInput() []string {
	times := s.Times()
	long := times[len(times)-1].Seconds() + float64(s.Rate.Den)/float64(s.Rate.Num) - s.AudioDelay.Seconds()
	return []string{"-itsoffset", seconds(s.AudioDelay), "-f", "lavfi",
		"-i", fmt.Sprintf("sine=frequency=440:beep_factor=4:sample_rate=48000:duration=%.6f", long)}
}

func (s Spec) audioCodec() string {
	switch s.Container {
	case "avi", "mxf", "dv":
		return "pcm_s16le"
	case "mpg", "ts", "m2ts":
		return "mp2"
	case "webm":
		return "libopus"
	case "wmv":
		return "wmav2"
	default:
		return "aac"
	}
}

func (s Spec) filters() string {
	sar := s.SAR
	if sar.Num == 0 {
		sar.Num, sar.Den = 1, 1
	}
	if s.Codec == "dv" {
		sar.Num, sar.Den = 16, 15
	}
	filters := fmt.Sprintf("setsar=%d/%d", sar.Num, sar.Den)
	if s.VFR {
		filters += `,settb=1/1000,setpts=40*N+7*mod(N\,3)+160*floor(N/12)`
	}
	switch s.Rotation { // stored the other way round, so that the player sets it right
	case 90:
		filters += ",transpose=cclock"
	case 180:
		filters += ",hflip,vflip"
	case 270:
		filters += ",transpose=clock"
	}
	if s.Interlaced {
		filters += ",setfield=tff"
	}
	return filters
}

// encoders are ffmpeg's names.
var encoders = map[string][]string{
	"h264":  {"libx264", "-pix_fmt", "yuv420p"},
	"mpeg4": {"mpeg4", "-q:v", "3"},
	"mjpeg": {"mjpeg", "-q:v", "3", "-pix_fmt", "yuvj420p"},
	"mpeg2": {"mpeg2video", "-q:v", "3"},
	"mpeg1": {"mpeg1video", "-q:v", "3"},
	"vp8":   {"libvpx", "-b:v", "1M", "-deadline", "realtime", "-cpu-used", "8", "-auto-alt-ref", "0"},
	"wmv2":  {"wmv2", "-q:v", "3"},
	"flv1":  {"flv", "-q:v", "3"},
	"dv":    {"dvvideo", "-pix_fmt", "yuv420p"},
}

func (s Spec) videoCodec() []string {
	args := append([]string{"-threads", "1", "-c:v"}, encoders[s.Codec]...)
	if s.Codec == "dv" || s.Codec == "mjpeg" {
		return args
	}
	args = append(args, "-g", strconv.Itoa(s.GOP))
	if s.Codec != "vp8" && s.Codec != "wmv2" && s.Codec != "flv1" {
		args = append(args, "-bf", strconv.Itoa(s.BFrames))
	}
	switch {
	case s.Codec == "h264":
		crf, preset := 23, "ultrafast"
		if s.Crf != 0 {
			crf, preset = s.Crf, "veryfast"
		}
		args = append(args, "-preset", preset, "-crf", strconv.Itoa(crf), "-sc_threshold", "0", "-keyint_min", strconv.Itoa(s.GOP))
		if s.OpenGOP {
			args = append(args, "-x264-params", "open-gop=1")
		}
	case s.Codec == "mpeg2" && !s.OpenGOP:
		args = append(args, "-flags", "+cgop", "-sc_threshold", "1000000000")
	}
	if s.Interlaced {
		args = append(args, "-flags", "+ilme+ildct", "-top", "1")
	}
	return args
}

func (s Spec) muxer() []string {
	var args []string
	if s.StartOffset != 0 && s.PreRoll == 0 {
		args = append(args, "-output_ts_offset", seconds(s.StartOffset))
	}
	switch s.Container {
	case "m2ts":
		args = append(args, "-f", "mpegts", "-mpegts_m2ts_mode", "1")
	case "m4v":
		args = append(args, "-f", "m4v")
	case "ts":
		args = append(args, "-f", "mpegts")
	case "mpg":
		args = append(args, "-f", "vob")
	}
	return args
}

func seconds(d time.Duration) string { return strconv.FormatFloat(d.Seconds(), 'f', 6, 64) }
