package shelf

import (
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
)

// KeyOf is the sum of all that something is made of. recipe changes whenever the
// same inputs come to give another file.
func KeyOf(parts ...any) string {
	const recipe = 3
	h := sha256.New()
	e := json.NewEncoder(h)
	for _, p := range append([]any{recipe}, parts...) {
		if err := e.Encode(p); err != nil {
			panic(err) // only our own plain values go in
		}
	}
	return hex.EncodeToString(h.Sum(nil))
}

func SumOf(data []byte) string {
	sum := sha256.Sum256(data)
	return hex.EncodeToString(sum[:])
}
