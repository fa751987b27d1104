package handover

import (
	"context"
	"encoding/json"
	"path"
	"path/filepath"
	"slices"
	"strings"

	"pushcue/internal/handover/embedded"
	"pushcue/internal/job"
	"pushcue/internal/photo"
	"pushcue/internal/reach"
	"pushcue/timeline/document"
	"pushcue/timeline/fault"
	"pushcue/timeline/jobsheet"
	"pushcue/timeline/words"
)

// An Outgoing is one thing that leaves the house with a handover and that somebody may not
// want to give away.
type Outgoing struct {
	Code  string         // as_filmed, sound, positions, notes, spoken, photos, picture
	Text  words.Sentence // what it is
	Hint  words.Sentence // how to keep it back
	Found bool           // it was found; otherwise it may be there and can't be recognised

	// Settled reports that it may go: always in the customer's own handover, in a buyer's where
	// each job sheet keeps it.
	Settled bool
}

// Outgoing lists what would leave the house with a finished handover, as it lies there.
// a.For is ignored: the list is about the handover that Finish found.
func (f *Finished) Outgoing(ctx context.Context, a job.Ask) ([]Outgoing, error) {
	sheets := f.sheets(ctx, a)
	o := outgoing{f: f}
	for _, s := range sheets {
		o.people = append(o.people, s.Customer, jobsheet.Contact{Name: s.Job.Operator})
	}
	if err := o.look(ctx); err != nil {
		return nil, err
	}
	all := o.items()
	for i := range all {
		keeps := func(s *jobsheet.Sheet) bool { return s.Buyer.Keeps(all[i].Code) }
		all[i].Settled = !f.ForBuyer || len(sheets) > 0 && !slices.ContainsFunc(sheets, func(s *jobsheet.Sheet) bool { return !keeps(s) })
	}
	return all, nil
}

// Unsettled returns, as a fault.List, what nobody has decided of a buyer's handover, with the
// lines that settle it; nil where all is settled.
func Unsettled(all []Outgoing) error {
	var faults fault.List
	for _, o := range all {
		if o.Settled {
			continue
		}
		hint := words.Tell("if that may go to the buyer, write under [buyer]: %s = \"keep\"; else: %s", o.Code, o.Hint)
		if slices.Contains([]string{"as_filmed", "sound", "spoken", "photos"}, o.Code) {
			hint = words.Tell("if that may go to the buyer, write under [buyer]: %s = \"keep\"; else write %s = \"drop\" there and run `pushcue make` again for the buyer", o.Code, o.Code)
		}
		faults = append(faults, fault.Fault{File: jobsheet.JobFile, Text: o.Text, Hint: hint})
	}
	return faults.Err()
}

// sheets are the job sheets that a handover was made by, as far as they can be read.
func (f *Finished) sheets(ctx context.Context, a job.Ask) []*jobsheet.Sheet {
	dir, sheet, err := job.Locate(a)
	if err != nil {
		return nil
	}
	if dir == f.Dir { // the handover was named itself
		dir = filepath.Dir(dir)
	}
	dirs := []string{dir}
	if job.IsFile(filepath.Join(dir, jobsheet.VisitFile)) && (sheet == "" || filepath.Base(sheet) == jobsheet.VisitFile) {
		if dirs, err = job.PushFolders(dir); err != nil {
			return nil
		}
		sheet = ""
	}
	var all []*jobsheet.Sheet
	for _, dir := range dirs {
		list, err := job.ReadEdits(dir)
		if err != nil {
			continue
		}
		if j, err := job.OpenSheets(ctx, a, dir, sheet, list); err == nil {
			all = append(all, j.Sheet)
		}
	}
	return all
}

// outgoing is what was found in a handover.
type outgoing struct {
	f        *Finished
	people   []jobsheet.Contact // whom the job sheet names
	filmed   []string           // the recording as filmed
	pictures []string           // captioned videos, stills, clips and the recording as filmed
	sound    []string           // films in which sound is heard
	spoken   []string
	photos   []string
	located  []words.Sentence // files that say where they were made
	notes    int              // texts of the log
	named    []words.Sentence // those that name somebody
}

func (o *outgoing) look(ctx context.Context) error {
	for _, e := range o.f.List {
		if err := ctx.Err(); err != nil {
			return err
		}
		folder := path.Base(path.Dir(e.Name))
		film := slices.Contains(job.VideoEndings, strings.ToLower(path.Ext(e.Name)))
		switch {
		case path.Base(e.Name) == timelineName:
			if text, err := reach.ReadBeneath(o.f.Dir, e.Name, job.DocumentBytes); err == nil {
				var d document.Document
				if json.Unmarshal(text, &d) == nil {
					o.written(&d)
				}
			}
		case folder == "as-filmed" && film:
			o.filmed, o.pictures = append(o.filmed, e.Name), append(o.pictures, e.Name)
			o.film(e.Name)
		case (folder == "video" || folder == "clips") && film:
			o.pictures = append(o.pictures, e.Name)
			o.film(e.Name)
		case folder == "stills":
			o.pictures = append(o.pictures, e.Name)
		case folder == job.SpokenFolder:
			o.spoken = append(o.spoken, e.Name)
		case folder == job.PhotosFolder:
			o.photos = append(o.photos, e.Name)
			if data, err := reach.ReadBeneath(o.f.Dir, e.Name, photo.MostBytes); err == nil && photo.Located(data) {
				o.located = append(o.located, words.Plain("%s", e.Name))
			}
		}
	}
	return nil
}

// film looks for sound and for positions in a film. One that can't be opened shows when it
// is copied.
func (o *outgoing) film(name string) {
	in, err := reach.Beneath(o.f.Dir, name, reach.AnySize)
	if err != nil {
		return
	}
	defer in.Close()
	info, err := in.Stat()
	if err != nil {
		return
	}
	facts, err := embedded.Read(in, info.Size())
	if err != nil {
		return
	}
	if facts.Sound || !facts.Indexed { // of other files it isn't known
		o.sound = append(o.sound, name)
	}
	switch {
	case len(facts.Positions) > 0:
		o.located = append(o.located, words.Plain("%s (%s)", name, strings.Join(facts.Positions, ", ")))
	case facts.Track:
		o.located = append(o.located, words.Tell("%s (in a track of its own)", name))
	}
}

// written looks for people in what was written down.
func (o *outgoing) written(d *document.Document) {
	people := slices.Clone(o.people)
	if c := d.Job.Customer; c != nil {
		people = append(people, contactOf(c))
	}
	if d.Job.Operator != nil {
		people = append(people, jobsheet.Contact{Name: *d.Job.Operator})
	}
	row := func(n int, texts ...*string) {
		o.text(words.Tell("row %d", n), people, texts...)
	}
	for _, r := range d.Observations {
		row(r.Row, r.What, r.Note, r.Size)
	}
	for _, r := range d.Unplaced {
		row(r.Row, r.What, r.Note)
	}
	for _, r := range d.SetAside {
		row(r.Row, r.What, r.Note)
	}
	j := d.Job
	for _, field := range []struct {
		key  string
		text *string
	}{
		{"job.reason", j.Reason}, {"job.ended", j.Ended}, {"job.cleaned", j.Cleaned}, {"job.weather", j.Weather}, {"job.reference", j.Reference},
		{"line.name", j.Line.Name}, {"line.from", j.Line.From}, {"line.to", j.Line.To},
	} {
		o.text(words.Tell("the job sheet's %s", field.key), people, field.text)
	}
}

func contactOf(c *document.Contact) jobsheet.Contact {
	return jobsheet.Contact{Name: word(c.Name), Address: word(c.Address), Phone: word(c.Phone), Email: word(c.Email)}
}

// text looks for the first person named in some texts of one place.
func (o *outgoing) text(where words.Sentence, people []jobsheet.Contact, texts ...*string) {
	for _, t := range texts {
		if t == nil || strings.TrimSpace(*t) == "" {
			continue
		}
		o.notes++
		if who := namedIn(*t, people); who != "" {
			o.named = append(o.named, words.Plain("%s (%s)", where, who))
			return
		}
	}
}

// namedIn returns whom a text names: somebody of the job sheet, or what follows a form of
// address; "" for nobody who can be recognised.
func namedIn(text string, people []jobsheet.Contact) string {
	for _, c := range people {
		if whole, part := (job.Unsaid{Customer: c}).In(text); whole+part != "" {
			return whole + part
		}
	}
	return words.FindAddressed(text)
}

// items words what was found, the gravest first.
func (o *outgoing) items() []Outgoing {
	var all []Outgoing
	add := func(code string, found bool, text, hint words.Sentence) {
		all = append(all, Outgoing{Code: code, Text: text, Hint: hint, Found: found})
	}
	if len(o.located) > 0 {
		add("positions", true, words.Tell("where it was filmed: these files carry a position: %s", few(o.located)),
			words.Tell("leave the recording as filmed out, or set location = \"drop\" under [photos]"))
	}
	if n := len(o.filmed); n > 0 {
		add("as_filmed", true, words.Tell("the recording as filmed, whole: %d files, with all that it shows and that the crew says", n),
			words.Tell("it is left out where show_from, show_to or sound = \"drop\" stands under [recording]"))
	}
	if len(o.sound) > 0 {
		add("sound", true, words.Tell("sound: what the crew says can be heard in the films"),
			words.Tell("sound = \"drop\" under [recording] leaves it out"))
	}
	switch {
	case len(o.named) > 0:
		add("notes", true, words.Tell("notes that name people: %s; other names can't be told from other words", few(o.named)),
			words.Tell("read the notes, and correct what isn't for the reader"))
	case o.notes > 0:
		add("notes", false, words.Tell("notes: nobody is named whom the job sheet names, and nobody by a form of address; other names can't be told from other words"),
			words.Tell("read the notes, and correct what isn't for the reader"))
	}
	if n := len(o.spoken); n > 0 {
		add("spoken", false, words.Tell("%d spoken notes: whether somebody is named in them can't be known here", n),
			words.Tell("listen to them; the review page leaves out what isn't for the reader"))
	}
	if n := len(o.photos); n > 0 {
		add("photos", false, words.Tell("%d photos: faces and house numbers aren't recognised", n),
			words.Tell("look at them; the review page leaves out what isn't for the reader"))
	}
	if len(o.pictures) > 0 {
		add("picture", false, words.Tell("the picture as filmed: a name or an address that the recorder wrote into it isn't recognised"),
			words.Tell("look at the first minute; show_from under [recording] leaves it out"))
	}
	return all
}

// few lists the first of many.
func few(all []words.Sentence) words.Sentence {
	const most = 3
	if len(all) <= most+1 {
		return words.Join(all, words.Comma)
	}
	return words.Tell("%s and %d more", words.Join(all[:most], words.Comma), len(all)-most)
}
