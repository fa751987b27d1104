package review

import (
	"crypto/sha256"
	"encoding/hex"
	"fmt"
	"io/fs"
	"net/http"
	"strconv"
)

// cached lets a browser keep what is sent, and has it ask each time whether that is still
// right: what comes under the same address may belong to another job by then, or to a
// recording that was copied anew. It answers, and reports so, where the browser has what
// tag names.
func cached(w http.ResponseWriter, r *http.Request, tag string) bool {
	h := w.Header()
	h.Set("Cache-Control", "private, no-cache")
	h.Set("ETag", strconv.Quote(tag))
	if r.Header.Get("If-None-Match") != strconv.Quote(tag) {
		return false
	}
	w.WriteHeader(http.StatusNotModified)
	return true
}

// tagOf names a file as it is now.
func tagOf(path string, info fs.FileInfo) string {
	sum := sha256.Sum256(fmt.Appendf(nil, "%q %d %d", path, info.Size(), info.ModTime().UnixNano()))
	return hex.EncodeToString(sum[:8])
}
