package handover

import (
	"context"
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"time"

	"pushcue/internal/job"
	"pushcue/internal/reach"
	"pushcue/internal/safefile"
	"pushcue/internal/shelf"
	"pushcue/internal/trouble"
	"pushcue/timeline/edits"
	"pushcue/timeline/jobsheet"
	"pushcue/timeline/words"
)

// inputsEnding ends the name of the file, in our own folder, that tells what a handover
// was made from.
const inputsEnding = ".inputs"

// mostInputs bounds what is read of that file.
const mostInputs = 1 << 20

// jobInputs are hashes of what one job's handover was made from, by what it is.
type jobInputs map[string]string

// inputNames are what jobInputs hold, in the order and the words in which a person is
// told that they changed.
var inputNames = []struct {
	key  string
	told words.Sentence
}{
	{"sheet", words.Tell("the job sheet")}, {"log", words.Tell("the log")}, {"kinds", words.Tell("the list of kinds")},
	{"readings", words.Tell("the counter readings")}, {"edits", words.Tell("the corrections")}, {"recording", words.Tell("the recording")},
	{"logo", words.Tell("the firm's logo")}, {"spoken", words.Tell("the spoken notes")}, {"photos", words.Tell("the photos")},
}

// inputsOf hashes what the job's handover depends on. Small files go by their content; the
// recording, spoken notes and photos by name and size, since reading them takes as long
// as making the handover does.
func inputsOf(j *job.Job) (jobInputs, error) {
	in := jobInputs{}
	sheet := *j.Sheet
	sheet.File, sheet.Firm.LogoDir = "", "" // where the job lies doesn't matter
	ofBuyer := func(key string) bool { return strings.HasPrefix(key, "buyer.") }
	sheet.Given = slices.DeleteFunc(slices.Clone(sheet.Given), ofBuyer) // told below
	zone := ""
	if sheet.Job.Zone != nil {
		zone = sheet.Job.Zone.String()
	}
	text, err := json.Marshal(sheet)
	if err != nil {
		return nil, err
	}
	text = append(text, zone...)
	if b := sheet.Buyer; j.Ask.For == job.ForBuyer && (b.Keeps("as_filmed") || b.Spoken == "drop" || b.Photos == "drop") {
		text = fmt.Append(text, b.Keeps("as_filmed"), b.Spoken == "drop", b.Photos == "drop") // the rest changes nothing of what is made
	}
	in["sheet"] = shelf.SumOf(text)
	for key, s := range map[string]*job.Source{"log": j.Log, "kinds": j.Kinds, "readings": j.Readings} {
		if s == nil {
			continue
		}
		err := j.Reading(*s, func(f *os.File) error {
			h := sha256.New()
			_, err := io.Copy(h, f)
			in[key] = hex.EncodeToString(h.Sum(nil))
			return err
		})
		if err != nil {
			return nil, err
		}
	}
	if f, err := j.OpenLogo(); j.Sheet.Firm.Logo != "" && err == nil {
		h := sha256.New()
		_, err = io.Copy(h, f)
		if f.Close(); err != nil {
			return nil, err
		}
		in["logo"] = hex.EncodeToString(h.Sum(nil))
	}
	if j.Edits != nil {
		live := slices.DeleteFunc(slices.Clone(j.Edits.Live()), func(e edits.Edit) bool { return e.What == edits.Noted })
		if text, err = json.Marshal(live); err != nil {
			return nil, err
		}
		if len(live) > 0 {
			in["edits"] = shelf.SumOf(text)
		}
	}
	in["recording"], in["spoken"], in["photos"] = sizes(j.Videos), sizes(j.Spoken), sizes(j.Photos)
	return in, nil
}

// sizes hashes the names and sizes of files.
func sizes(sources []job.Source) string {
	h := sha256.New()
	for _, s := range sources {
		size := int64(-1)
		if info, err := os.Stat(s.Path); err == nil {
			size = info.Size()
		}
		fmt.Fprintf(h, "%s\x00%d\x00", s.Name, size)
	}
	return hex.EncodeToString(h.Sum(nil))
}

// keepInputs notes what the handover was made from, after it was finished.
func keepInputs(v *job.Visit, work *safefile.Folder) error {
	all := map[string]jobInputs{}
	for _, j := range v.Jobs {
		in, err := inputsOf(j)
		if err != nil {
			return err
		}
		all[j.Name] = in
	}
	text, err := json.Marshal(all)
	if err != nil {
		return err
	}
	name := filepath.Base(v.Out) + inputsEnding
	return trouble.Writing(work.At(name), work.WriteBytes(name, append(text, '\n')))
}

// Stale names what has changed in a job or visit since its handover was made, so that
// make would make another one; none where the handover is up to date, or where the job
// can't be opened any more, as when its recording lies elsewhere by now. What was named on
// make's command line is a.Videos and a.Log; name it here too.
func Stale(ctx context.Context, a job.Ask) ([]words.Sentence, error) {
	a.ToAsk = true
	v, err := job.Open(ctx, a)
	if err != nil {
		return nil, ctx.Err()
	}
	var kept map[string]jobInputs
	text, err := reach.ReadBeneath(v.Work, filepath.Base(v.Out)+inputsEnding, mostInputs)
	if err != nil || json.Unmarshal(text, &kept) != nil {
		return newer(v), nil
	}
	var all []words.Sentence
	for _, j := range v.Jobs {
		now, err := inputsOf(j)
		if err != nil {
			return nil, err
		}
		then := kept[j.Name]
		for _, n := range inputNames {
			if now[n.key] != then[n.key] {
				all = append(all, ofJob(v, j, n.told))
			}
		}
	}
	return all, nil
}

// ofJob says which push of a visit something belongs to.
func ofJob(v *job.Visit, j *job.Job, told words.Sentence) words.Sentence {
	if !v.Many {
		return told
	}
	return words.Tell("%s of %s", told, words.Quoted(j.Name))
}

// newer names the small inputs that were written after the handover was finished: all
// that can be told where nothing was kept of what it was made from.
func newer(v *job.Visit) []words.Sentence {
	made, err := os.Stat(filepath.Join(v.Out, shelf.SumsName))
	if err != nil {
		return nil
	}
	after := func(path string) bool {
		info, err := os.Stat(path)
		return err == nil && info.ModTime().After(made.ModTime().Add(time.Second)) // drives keep two seconds
	}
	var all []words.Sentence
	for _, j := range v.Jobs {
		paths := map[string]string{"sheet": j.SheetPath, "edits": filepath.Join(j.Dir, edits.File)}
		for key, s := range map[string]*job.Source{"log": j.Log, "kinds": j.Kinds, "readings": j.Readings} {
			if s != nil {
				paths[key] = s.Path
			}
		}
		for _, n := range inputNames {
			if path := paths[n.key]; path != "" && after(path) || n.key == "sheet" && v.Many && after(filepath.Join(v.Dir, jobsheet.VisitFile)) {
				all = append(all, ofJob(v, j, n.told))
			}
		}
	}
	return all
}
