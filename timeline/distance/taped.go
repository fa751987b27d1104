package distance

// Taped is a length known for certain, to correct a counter that slips. Both
// lengths are counted as the counter and the tape showed them.
type Taped struct {
	Counter Metres // what the counter showed there
	Length  Metres // what it truly is from the start of the line
}
