package handover

import (
	"bytes"
	"context"
	"errors"
	"image/png"
	"io"
	"path"
	"strconv"
	"strings"

	"pushcue/internal/ffmpeg"
	"pushcue/internal/handover/account"
	"pushcue/internal/job"
	"pushcue/internal/photo"
	"pushcue/internal/placing"
	"pushcue/internal/reach"
	"pushcue/internal/shelf"
	"pushcue/internal/trouble"
	"pushcue/timeline/fault"
	"pushcue/timeline/words"
)

// photos are what somebody photographed on site, turned upright and without what their
// cameras wrote beside them.
type photos struct {
	*making
	plansNothing
	joinsNothing
	wanted []wantedPhoto
}

// A wantedPhoto is a photo on its way into the handover.
type wantedPhoto struct {
	from placing.Attached
	name string // in the handover
}

// finish turns the photos upright, makes them fit for a page, and leaves out what
// their cameras wrote beside thes.
func (s *photos) finish(ctx context.Context) error {
	names := s.attachedNames(s.placed.Photos)
	// A reader who isn't the customer is never told where a photo was taken.
	keep := s.job.Sheet.Photos.KeepLocation && s.opts.For != job.ForBuyer
	for i, a := range s.placed.Photos {
		if !a.Why.Empty() {
			continue // named already
		}
		p := wantedPhoto{from: a, name: path.Join(job.PhotosFolder, names[i]+".jpg")}
		key := shelf.KeyOf("photo", s.sourceOf[a.Path], keep)
		have, err := s.shelf.Has(ctx, p.name, key)
		if err != nil {
			return err
		}
		if !have && s.wants["photos"] {
			picture, err := OpenPhoto(ctx, s.job, s.tools, a.Source)
			if ctx.Err() != nil {
				return ctx.Err()
			}
			if ffmpeg.OfItself(err) {
				return err
			}
			if err != nil {
				s.warnings = append(s.warnings, placing.UnreadableAttached("photo", a, err))
				continue
			}
			tmp, err := s.wait("photo"+strconv.Itoa(i)+".jpg", func(w io.Writer) error { return picture.WriteJPEG(w, keep) })
			if err != nil {
				return err
			}
			if err := s.shelf.Publish(ctx, shelf.Piece{Name: p.name, Key: key, Temp: tmp}); err != nil {
				return err
			}
		}
		s.wanted = append(s.wanted, p)
	}
	return nil
}

func (s *photos) enter(made *account.Made) {
	made.Photos = map[int][]string{}
	for _, p := range s.wanted {
		if !s.isThere(p.name) {
			continue
		}
		for _, r := range s.belongs(p.from.Rows) {
			made.Photos[r] = append(made.Photos[r], p.name)
		}
	}
}

// OpenPhoto decodes a photo: by itself where it is JPEG or PNG, else as far as ffmpeg
// can. Its errors are faults with what to do.
func OpenPhoto(ctx context.Context, j *job.Job, tools *ffmpeg.Tools, s job.Source) (*photo.Photo, error) {
	refuse := func(text, hint words.Sentence) error {
		return fault.Of(fault.Fault{File: s.Name, Text: text, Hint: hint})
	}
	asJPEG := words.Tell("save it as JPEG and put that into its place")
	source := j.Pinned(s)
	f, err := source.Open()
	if errors.Is(err, reach.ErrLarge) {
		return nil, refuse(words.Tell("the photo is far too large"), asJPEG)
	}
	if err != nil {
		return nil, refuse(words.Tell("the photo can't be opened: %s", trouble.PlainCause(err)), job.HintOf(err, words.Tell("check that you may read it")))
	}
	defer f.Close()
	data, err := io.ReadAll(io.LimitReader(f, photo.MostBytes+1))
	switch {
	case err != nil:
		return nil, refuse(words.Tell("the photo can't be read: %s", trouble.PlainCause(err)), words.Tell("copy it from the camera again"))
	case len(data) == 0:
		return nil, refuse(words.Tell("the photo is empty: the file has no bytes"), words.Tell("copy it from the camera again"))
	case len(data) > photo.MostBytes:
		return nil, refuse(words.Tell("the photo is far too large"), asJPEG)
	}
	p, err := photo.Open(data)
	switch {
	case err == nil:
		return p, nil
	case err != photo.ErrKind:
		return nil, refuse(words.Of(err), words.Tell("copy it from the camera again"))
	}
	p, err = decodeElse(ctx, tools, source, data)
	switch {
	case err != nil:
		return nil, err
	case p == nil && job.HasEnding(s.Name, []string{".jpg", ".jpeg", ".jpe", ".png"}):
		return nil, refuse(words.Tell("this is no photo that can be read, or its beginning is damaged"), words.Tell("copy it from the camera again; if it shows there, save it as JPEG and put that into its place"))
	case p == nil:
		return nil, refuse(words.Tell("this ffmpeg (%s) doesn't read photos of the kind %s", tools.Version, strings.TrimPrefix(strings.ToUpper(path.Ext(s.Name)), ".")), asJPEG)
	}
	return p, nil
}

// decodeElse has ffmpeg decode a photo of a phone's own kind; nil where it can't, or
// gives only one of the tiles that the picture is made of.
func decodeElse(ctx context.Context, tools *ffmpeg.Tools, source *reach.Source, data []byte) (*photo.Photo, error) {
	var b bytes.Buffer
	if _, err := tools.Do(ctx, ffmpeg.Run{Args: ffmpeg.PictureArgs(source.Path), Sources: []*reach.Source{source}, Stdout: func(r io.Reader) error {
		_, err := io.Copy(&b, io.LimitReader(r, 4*photo.MostBytes))
		return err
	}}); ffmpeg.OfItself(err) {
		return nil, err
	} else if err != nil {
		return nil, nil
	}
	shape, err := png.DecodeConfig(bytes.NewReader(b.Bytes()))
	wide, high := photo.Largest(data)
	if err != nil || shape.Width*shape.Height < wide*high || shape.Width*shape.Height > photo.MostPixels {
		return nil, nil
	}
	picture, err := png.Decode(bytes.NewReader(b.Bytes()))
	if err != nil {
		return nil, nil
	}
	return photo.AsDecoded(picture, photo.FindNotes(data)), nil
}
