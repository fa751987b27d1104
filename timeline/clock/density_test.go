package clock

import (
	"math"
	"math/rand/v2"
	"testing"
)

// The law is compared with errors drawn one by one, of which it knows nothing.
func TestErrorLawAgainstDrawnErrors(t *testing.T) {
	r := rand.New(rand.NewPCG(1, 2))
	for _, c := range []struct{ a, b, sigma float64 }{
		{0.5, 0.05, 0.012}, {0.05, 0.05, 0.012}, {30, 30, 0.012}, {30, 0.5, 1},
		{0.5, 0.4, 0.1}, {0.01, 0.01, 0.3}, {0, 0, 0.012}, {0.2, 0, 0.1},
	} {
		const drawn = 400_000
		reach := c.a + c.b + 4.5*c.sigma
		var seen [20]float64
		for range drawn {
			e := c.a*(2*r.Float64()-1) + c.b*(2*r.Float64()-1) + c.sigma*r.NormFloat64()
			if i := int((e/reach + 1) * 10); i >= 0 && i < 20 {
				seen[i]++
			}
		}
		law, table := errorLaw(c.a, c.b, c.sigma), newDensity(c.a, c.b, c.sigma)
		for i := range seen {
			low := reach * (float64(i)/10 - 1)
			const steps = 400
			var exact, tabled float64
			for k := range steps {
				e := low + (float64(k)+0.5)*reach/10/steps
				exact += law(e) * reach / 10 / steps
				tabled += math.Exp(table.log(e)) * reach / 10 / steps
			}
			share := seen[i] / drawn
			noise := 5*math.Sqrt(share/drawn) + 1e-4
			if math.Abs(exact-share) > noise+0.002 {
				t.Errorf("%+v: law puts %.4f into cell %d, drawn %.4f", c, exact, i, share)
			}
			if math.Abs(tabled-exact) > 0.004 {
				t.Errorf("%+v: table puts %.4f into cell %d, law %.4f", c, tabled, i, exact)
			}
		}
	}
}

func TestHalfWidthOfKnownLaws(t *testing.T) {
	var normal, uniform []float64
	for k := range 4000 {
		q := (float64(k) + 0.5) / 4000
		normal = append(normal, math.Sqrt2*math.Erfinv(2*q-1))
		uniform = append(uniform, 2*q-1)
	}
	for _, c := range []struct {
		name       string
		deviations []float64
		blur, want float64
	}{
		{"normal", normal, 0, 1.95996},                          // quantile of the normal law
		{"uniform", uniform, 0, 0.95},                           // by its definition
		{"two uniform alike", uniform, 1, 2 - 2*math.Sqrt(.05)}, // triangle from −2 to 2: tails (2−w)²/4 = 0.05
		{"one line, blurred", []float64{0, 0}, 0.5, 0.475},      // a row to the second on a perfect clock
		{"one line", []float64{0}, 0, 0},                        //
	} {
		if got := halfWidth(c.deviations, c.blur); math.Abs(got-c.want) > 0.003 {
			t.Errorf("%s: ± %.4f, want %.4f", c.name, got, c.want)
		}
	}
}
