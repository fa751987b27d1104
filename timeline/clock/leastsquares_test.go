package clock

import (
	"bufio"
	"math"
	"os"
	"strconv"
	"strings"
	"testing"
)

// NIST/ITL Statistical Reference Datasets, linear regression, dataset Norris: the
// certified values stand in the file's own lines 31 to 46.
func TestLeastSquaresAgainstNorris(t *testing.T) {
	points := norris(t)
	if len(points) != 36 {
		t.Fatalf("read %d points, the dataset has 36", len(points))
	}
	e := leastSquares([][]point{points}, 0)
	for _, c := range []struct {
		what      string
		got, want float64
	}{
		{"slope", e.slope, 1.00211681802045},
		{"intercept", e.at(0, 0), -0.262323073774029},
		{"residual standard deviation", e.deviation(), 0.884796396144373},
		{"standard deviation of the slope", e.deviation() / math.Sqrt(e.information), 0.429796848199937e-3},
		{"standard deviation of the intercept", e.deviation() * math.Sqrt(e.variance(0, 0)), 0.232818234301152},
	} {
		if math.Abs(c.got-c.want) > 1e-9 {
			t.Errorf("%s is %.15g, certified is %.15g", c.what, c.got, c.want)
		}
	}
}

func TestParallelLinesShareTheirSlope(t *testing.T) {
	e := leastSquares([][]point{{{0, 1, 1}, {10, 2, 1}}, {{100, 7, 4}, {110, 9, 4}}}, 0)
	// By hand: slopes 0.1 and 0.2, weighed 1 to 4 by the same spread of x.
	if want := 0.18; math.Abs(e.slope-want) > 1e-12 {
		t.Errorf("slope is %v, want %v", e.slope, want)
	}
	if got := e.at(1, 105); math.Abs(got-8) > 1e-12 {
		t.Errorf("the second line passes %v at its middle, want 8", got)
	}
}

func TestPriorDrawsTheSlopeTowardsZero(t *testing.T) {
	points := [][]point{{{0, 0, 1}, {10, 1, 1}}}
	spread := 50.0 // sum of squared distances from the mean of x
	if got, want := leastSquares(points, spread).slope, 0.05; math.Abs(got-want) > 1e-12 {
		t.Errorf("a prior as strong as the points gives slope %v, want half of theirs, %v", got, want)
	}
}

// norris reads the 36 pairs "y x" after the file's second "Data:" line.
func norris(t *testing.T) []point {
	t.Helper()
	file, err := os.Open("../../testdata/reference/Norris.dat")
	if err != nil {
		t.Fatal(err)
	}
	defer file.Close()
	var points []point
	lines := bufio.NewScanner(file)
	for n := 1; lines.Scan(); n++ {
		if n < 61 {
			continue
		}
		fields := strings.Fields(lines.Text())
		if len(fields) != 2 {
			continue
		}
		y, errY := strconv.ParseFloat(fields[0], 64)
		x, errX := strconv.ParseFloat(fields[1], 64)
		if errY != nil || errX != nil {
			t.Fatalf("line %d: %q", n, lines.Text())
		}
		points = append(points, point{x: x, y: y, weight: 1})
	}
	return points
}
