package report

import (
	"math"
	"testing"
)

// TestPath compares outlines with those worked out by hand from SVG 1.1, chapter 8.3.
func TestPath(t *testing.T) {
	for d, want := range map[string]string{
		"M10 20L30 40Z":                "M10 20L30 40Z",
		"m10 20 5 5 -5,5z m1 1 h4 v-3": "M10 20L15 25L10 30ZM11 21L15 21L15 18", // after z the current point is the start of the part
		"M0 0C1 2 3 4 5 6S9 9 10 10":   "M0 0C1 2 3 4 5 6C7 8 9 9 10 10",        // mirrored: 2·5−3, 2·6−4
		"M0 0Q3 6 6 0T12 0":            "M0 0C2 4 4 4 6 0C8 -4 10 -4 12 0",      // two thirds of the way to 3, 6 and to its mirror 9, −6
		"M0 0S3 3 6 0":                 "M0 0C0 0 3 3 6 0",                      // nothing to mirror
		"M1.5.5-2e1+3":                 "M1.5 0.5L-20 3",
		"M0 0A0 5 0 0 1 9 9":           "M0 0L9 9", // F.6.2: no radius, a straight line
		"M0 0a1 1 0 0 1 0 0":           "M0 0L0 0",
		"M1 0A1 1 0 01 0 1":            "M1 0C1 0.552 0.552 1 0 1", // a quarter of a circle: 4/3·(√2−1) = 0.5523, tolerance of the print
		"M1 0A1 1 0 1 1 0 -1":          "M1 0C1 0.552 0.552 1 0 1C-0.552 1 -1 0.552 -1 0C-1 -0.552 -0.552 -1 0 -1",
		"M-2 0A1 1 0 0 1 2 0":          "M-2 0C-2 -1.105 -1.105 -2 0 -2C1.105 -2 2 -1.105 2 0", // F.6.6: too small a radius grows
		"M0 0A2 1 90 0 0 1 2L1 3":      "M0 0C0 1.105 0.448 2 1 2L1 3",                         // turned by 90°: 1 wide, 2 high
		"M 0 0 L 1 1 M 5 5 6 6":        "M0 0L1 1M5 5L6 6",
		"":                             "",
		"M0 0\n\t,H7":                  "M0 0L7 0",
	} {
		got, err := parsePath(d)
		if err != nil {
			t.Errorf("%q: %v", d, err)
			continue
		}
		if s := pathData(got); s != want {
			t.Errorf("%q gives %s, want %s", d, s, want)
		}
	}
	for _, d := range []string{"L0 0", "M", "M1", "M0 0X", "M0 0L1e7 0", "M0 0A1 1 0 2 0 5 5", "M0 0L--1 0", "<script>", "M0 0\"onload", "M0 0L1."[:6] + "e", "Z"} {
		if _, err := parsePath(d); err == nil {
			t.Errorf("%q: no error", d)
		}
	}
}

// TestArcStaysOnItsEllipse checks points of the curves against the equation of the circle: a quarter drawn by a cubic curve is off by
// 2.7e-4 of the radius at most (the known error of this construction).
func TestArcStaysOnItsEllipse(t *testing.T) {
	segs, err := parsePath("M3 0A3 3 0 1 0 -2.4 1.8")
	if err != nil {
		t.Fatal(err)
	}
	x, y := 3.0, 0.0
	for _, s := range segs[1:] {
		for i := range 21 {
			u := float64(i) / 20
			a, b, c, d := (1-u)*(1-u)*(1-u), 3*u*(1-u)*(1-u), 3*u*u*(1-u), u*u*u
			px, py := a*x+b*s.p[0]+c*s.p[2]+d*s.p[4], a*y+b*s.p[1]+c*s.p[3]+d*s.p[5]
			if r := math.Hypot(px, py); math.Abs(r-3) > 3*2.8e-4 {
				t.Errorf("at %g %g the radius is %g, want 3", px, py, r)
			}
		}
		x, y = s.p[4], s.p[5]
	}
	if math.Hypot(x+2.4, y-1.8) > 1e-9 {
		t.Errorf("the arc ends at %g %g", x, y)
	}
}

func FuzzPath(f *testing.F) {
	for _, s := range []string{scribble, "M0 0A5 3 30 1 0 9 9", "M1 1q2 2 3 3t4 4S1 2 3 4z", "m1e5-1e5.5.5"} {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, d string) {
		segs, err := parsePath(d)
		if err != nil {
			return
		}
		for _, s := range segs {
			for _, v := range s.p {
				if !finite(v) {
					t.Fatalf("%q gives %v", d, s)
				}
			}
		}
		again, err := parsePath(pathData(segs))
		if err == nil && len(again) != len(segs) {
			t.Errorf("%q: %d pieces become %d", d, len(segs), len(again))
		}
	})
}
