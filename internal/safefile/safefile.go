// Package safefile writes files whole or not at all: a temporary file beside the
// final name, synced and closed, then renamed.
package safefile
