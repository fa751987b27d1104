// Package page is the page in which a job is looked over and put right: plain
// HTML, style sheets and modules of JavaScript, embedded whole. It asks nothing
// of a network but the program that serves it.
//
// pushcue.html is what every tab loads. Once it is let in (enter.js), begin.js has it
// show a job (review.js) or choose one (start.js). It holds no script of its own, and
// takes every word from the table [review] of package words.
package page

import (
	"embed"
	"io/fs"
)

//go:embed web
var files embed.FS

// FS holds the files of the page, flat.
var FS = sub()

func sub() fs.FS {
	f, err := fs.Sub(files, "web")
	if err != nil {
		panic(err) // the folder is part of the program
	}
	return f
}
