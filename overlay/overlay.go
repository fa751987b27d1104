// Package overlay puts captions into pictures: their layout, their font, the strip
// they stand in, and the script that burns them.
package overlay
