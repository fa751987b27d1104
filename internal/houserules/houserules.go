// Package houserules holds tests only: the rules that this repository keeps and
// that no compiler checks, such as which package may use which.
//
//	go test ./internal/houserules
//
// It can't tell whether a rule is a good one.
package houserules
