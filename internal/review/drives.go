package review

import (
	"net/http"
	"os"
	"path/filepath"

	"pushcue/internal/handover"
	"pushcue/internal/handover/drive"
	"pushcue/timeline/words"
)

// driveShown is a drive that a handover can be copied to.
type driveShown struct {
	Path      string `json:"path"`
	Name      string `json:"name"`
	Free      int64  `json:"free_bytes"` // -1 where it doesn't tell
	Removable bool   `json:"removable"`
	Fits      bool   `json:"fits"`
	Why       string `json:"why"`
}

func (s *Server) serveDrives(w http.ResponseWriter, r *http.Request) {
	all := []driveShown{}
	needed := int64(0)
	if o := s.now(); o != nil {
		ask := o.ask
		if f, err := handover.Finish(r.Context(), ask); err == nil {
			for _, e := range f.List {
				if info, err := os.Stat(filepath.Join(f.Dir, filepath.FromSlash(e.Name))); err == nil {
					needed += info.Size()
				}
			}
		}
	}
	for _, path := range mounted() {
		free, err := drive.Free(path)
		if err != nil {
			continue
		}
		one := driveShown{Path: path, Name: path, Free: free, Removable: true, Fits: free < 0 || free >= needed}
		if !one.Fits {
			one.Why = s.speaks().Put(words.Tell("there isn't room enough on it"))
		}
		all = append(all, one)
	}
	send(w, http.StatusOK, map[string]any{"drives": all})
}
