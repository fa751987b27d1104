package houserules

import (
	"go/ast"
	"testing"
)

// ffmpeg 7.1 (seen with 7.1.5) takes a value behind one of its switches for the name of an
// output file, and ends. -noautorotate is understood by all versions from 5.1 on.
func TestSwitchesOfFfmpegGetNoValue(t *testing.T) {
	for _, s := range sources(t, false) {
		ast.Inspect(s.tree, func(n ast.Node) bool {
			if lit, ok := n.(*ast.BasicLit); ok && (lit.Value == `"autorotate"` || lit.Value == `"-autorotate"`) {
				t.Errorf("%s writes %s: ffmpeg's switch is written noautorotate", s.name, lit.Value)
			}
			return true
		})
	}
}
