// Package footage paints the recording of a camera that is pushed down a drain,
// and tells the truth about it: where the head was in every frame, what the
// counter showed, when each defect came into view.
//
//	shoot, err := footage.NewShoot(footage.House(1), footage.Recorder{Width: 640, Height: 480, Rate: 25})
//	...
//	for shoot.Next() {
//		encoder.Write(shoot.Frame()) // 8-bit YUV 4:2:0
//	}
//
// The same scene, recorder and seed give the same bytes. It is made to be looked
// at and to be measured by programs; it's no simulation of light or of water.
package footage

import "time"

// A Scene is a line, what is the matter with it, and how the camera was pushed.
// Lengths are metres from the access point, times seconds from the first move.
type Scene struct {
	Seed     uint64
	Pipe     Pipe
	Features []Feature
	Moves    []Move
	Van      float64 // seconds of the van's floor before the head goes in, part of the first move
}

// A Pipe is round and goes straight on.
type Pipe struct {
	Length   float64 // where it opens into the mainline
	Bore     float64 // inner diameter, metres
	Material string  // clay, pvc, iron or concrete
	Joints   float64 // distance from one joint to the next; 0 for none
	Water    float64 // depth of the flow along the invert, metres
}

// A Feature is something to be seen, from From to To (To may be 0 for a spot).
type Feature struct {
	Kind     string // roots, crack, offset-joint, belly, connection, grease, settled-debris, scale, infiltration
	From, To float64
	Clock    float64 // middle of it, hours looking along the travel; 12 is the crown
	Size     float64 // 0 to 1: how bad
}

// A Move takes the head to To within For seconds: a push, a pull, or, where it
// is there already, a stand.
type Move struct{ For, To float64 }

// A Recorder is what stores the pictures, and what it writes into them.
type Recorder struct {
	Width, Height int
	Rate          float64 // frames a second
	PixelAspect   float64 // width of a pixel by its height; default 1
	Interlaced    bool    // two fields a frame, half a frame's time apart, top first
	Grain         float64 // noise of the sensor, in steps of 255; default 2.5
	Tape          float64 // 0 to 1: sideways jitter, dropouts and torn lines at the foot
	Numbers       bool    // the frame's number as blocks across the picture

	Counter *Counter
	Clock   *Clock
	Gauges  []Gauge

	// From and To cut the shoot in seconds of the scene; To 0 is its end.
	From, To float64
}

// A Counter is the length that the reel's wheel has measured, shown on the
// picture. What it shows is (head - Zero) * (1 + Slip), Lag seconds late.
type Counter struct {
	Look   Look
	Zero   float64 // where the head was when it was set to zero
	Slip   float64 // -0.02: shows 2 % too little
	Lag    float64
	Rezero []float64    // seconds of the scene at which it was set to zero again
	Blank  [][2]float64 // seconds of the scene between which it isn't shown
	Every  float64      // seconds between refreshes of the display; 0: each picture
}

// A Gauge is another number on the picture than the counter.
type Gauge struct {
	Look Look
	Of   string // slope, temperature, depth or battery
}

// A Clock is the recorder's own date and time, shown on the picture.
type Clock struct {
	Look    Look
	At      time.Time // at the scene's second 0
	Format  string    // of package time; default "02.01.2006 15:04:05"
	Elapsed bool      // time since the recording began in place of the time of day
}
