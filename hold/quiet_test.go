package hold

import (
	"fmt"
	"math"
	"testing"

	"github.com/evenstroke/evenstroke/pump"
)

// quiet makes the observation of a reading that shows nothing for T on the demo pump.
func quiet(t *testing.T, kind Kind, T float64) (*bench, *observation) {
	t.Helper()
	p, s := demoPump(t, "orrin-30"), bench4()
	r := timed(kind, pump.Up, p.Limits.Hold, 0, T)
	switch kind {
	case Still:
		r.Travel = defaultSeen
	case Drips, Caught:
		r.Stroke, r.Path, r.Drop, r.Volume, r.UVolume = 0, "throat packing", defaultDrop, 0, 0.5e-6
	}
	s.Readings = []Reading{r}
	b, err := newBench(p, s, DefaultPrior())
	if err != nil {
		t.Fatal(err)
	}
	return b, &b.obs[0]
}

// ratioAt is p(reading | right, flow μ) / p(reading | wrong), by the sampler itself: the leak of the throat is μ less what the others leak.
func ratioAt(b *bench, mu float64) float64 {
	for j, q := range b.paths {
		if q.Name != "throat packing" {
			continue
		}
		o := &b.obs[0]
		c := o.coef[j*maxVariants]
		d := &draw{q: [3]float64{math.Max(mu, 0) / c}}
		return newSampler(b, nil).right(0, []int8{int8(j)}, d)
	}
	return math.NaN()
}

// The longer a quiet pump is watched, the less likely is every leak beside a sound pump, and a sound pump is never likelier to have been
// read wrong: so longer watching never proves less, and shorter watching never more. Exact, without draws.
func TestQuietNeverOutgrown(t *testing.T) {
	times := []float64{0.5, 0.7, 1, 2, 3, 5, 10, 20, 30, 60, 120, 300, 600, 1800, 3600, 86400}
	for _, kind := range []Kind{Still, Creep, NoChangeover, Drips, Caught} {
		lastSound, last := 0.0, map[float64]float64{}
		for _, T := range times {
			b, _ := quiet(t, kind, T)
			sound := newSampler(b, nil).right(0, nil, &draw{})
			if sound < lastSound*(1-1e-9) {
				t.Errorf("%s for %g s: a sound pump has %.4g over a wrong reading, %.4g for less", kind, T, sound, lastSound)
			}
			lastSound = sound
			for _, share := range []float64{0.02, 0.05, 0.1, 0.3, 1, 3, 10} {
				leak := ratioAt(b, share*b.limit) / sound
				if before, ok := last[share]; ok && leak > before*(1+1e-6)+1e-12 {
					t.Errorf("%s for %g s: a leak of %g of the limit has %.4g of a sound pump, %.4g for less", kind, T, share, leak, before)
				}
				last[share] = leak
			}
		}
		if !(last[1] < 0.01) {
			t.Errorf("%s for a day leaves a leak at the limit %.3g of a sound pump", kind, last[1])
		}
	}
}

// Each likelihood against an explicit closed form with numbers of its own: areas, drift, friction and errors are worked out here.
func TestQuietLikelihoods(t *testing.T) {
	for _, T := range []float64{0.5, 5, 60} {
		b, o := quiet(t, Creep, T)
		p := b.p
		area := math.Pi / 4 * (sq(p.Bore) - sq(p.Rod)) * b.swell(p.Limits.Hold)
		stick := b.net.compliance(0, p.Limits.Hold) * 0.01 * p.Limits.Hold / T
		sound := 0.0
		for j, q := range o.sound {
			if q > 0 {
				mean, sd := momentsOfSound(b.prior.Sound.absolute(b.limit), b.prior.Sound.Spread, b.out[j])
				sound += sq(sd / mean * q)
			}
		}
		fixed := sq(area*0.5e-3/T) + driftOfLine(t, p) + sq(stick) + sound
		rel := sq(0.03) + sq(0.02) + sq(0.3/T)
		base := 0.0
		for _, q := range o.sound {
			base += q
		}
		sd0 := math.Sqrt(fixed + rel*base*base)
		wrong := math.Erfc(base/sd0/math.Sqrt2) / (sd0 * math.Log(1e4)) // 2 Φ(−z) over σ ln 10⁴
		for _, share := range []float64{0.2, 1, 2} {
			mu := share*b.limit + base
			for j, q := range b.paths {
				if q.Name == "throat packing" {
					mu -= o.sound[j]
				}
			}
			v := fixed + rel*mu*mu
			want := math.Exp(-0.5*mu*mu/v) / math.Sqrt(2*math.Pi*v) / wrong
			if got := ratioAt(b, share*b.limit); math.Abs(got/want-1) > 1e-5 {
				t.Errorf("no creep for %g s, %g of the limit: %.6g, want %.6g", T, share, got, want)
			}
		}
	}
}

// No changeover: the start is uniform on the stroke, the part of it that the rod goes is normal. Against Simpson's rule over both.
func TestNoTurnAgainstQuadrature(t *testing.T) {
	for _, T := range []float64{1, 20, 90} {
		_, o := quiet(t, NoChangeover, T)
		for _, mu := range []float64{0.1 / o.scale, 0.6 / o.scale, 1.3 / o.scale} {
			m, sd := mu*o.scale, o.scale*math.Sqrt(o.c0+o.c1*mu*mu)
			want := simpson(func(x float64) float64 {
				return math.Min(1, math.Max(0, 1-x)) * math.Exp(-0.5*sq((x-m)/sd)) / (sd * math.Sqrt(2*math.Pi))
			}, m-9*sd, m+9*sd, 40000)
			if got := o.noTurn(mu, 0); math.Abs(got-want) > 1e-5 {
				t.Errorf("%g s, %g of a stroke: %.6g, want %.6g", T, m, got, want)
			}
		}
	}
}

// A count is a Poisson count whose rate is spread by a gamma distribution of shape 1/σ², and of a sound path over what it may leak as well:
// by Simpson's rule over both.
func TestCountsAgainstQuadrature(t *testing.T) {
	b, _ := quiet(t, Drips, 60)
	shape := 1 / sq(dropSpread)
	poisson := func(mean, n float64) float64 {
		return simpson(func(g float64) float64 {
			if g == 0 {
				return 0
			}
			lg, _ := math.Lgamma(shape)
			lf, _ := math.Lgamma(n + 1)
			return math.Exp((shape-1)*math.Log(g)+shape*math.Log(shape)-shape*g-lg) * math.Exp(n*math.Log(mean*g)-mean*g-lf)
		}, 0, 4, 4000)
	}
	for n := range 4 {
		r := b.sheet.Readings[0]
		r.Count = n
		b.sheet.Readings = []Reading{r}
		c, err := newBench(b.p, b.sheet, DefaultPrior())
		if err != nil {
			t.Fatal(err)
		}
		o, x := &c.obs[0], float64(n)
		if got, want := ratioAt(c, 3/o.scale)*o.bad, poisson(3, x); math.Abs(got/want-1) > 1e-4 {
			t.Errorf("%d drops at a mean of 3: %.6g, want %.6g", n, got, want)
		}
		j := pathIndex(t, c, "throat packing")
		median := c.prior.Sound.absolute(c.limit)
		s := math.Max(math.Log(c.prior.Sound.Spread), math.Log(c.out[j]/median)/2)
		part := o.sound[j] / c.sound[j].mean
		lo, hi := math.Log(median)-7*s, math.Min(math.Log(median)+7*s, math.Log(c.out[j]))
		density := func(u float64) float64 { return math.Exp(-0.5 * sq((u-math.Log(median))/s)) }
		want := simpson(func(u float64) float64 { return density(u) * poisson(part*math.Exp(u)*o.scale, x) }, lo, hi, 120) / simpson(density, lo, hi, 120)
		if math.Abs(o.quiet/want-1) > 0.02 {
			t.Errorf("%d drops of a sound path: %.5g, want %.5g", n, o.quiet, want)
		}
	}
}

// What somebody saw stands until he looks again: more than may leak keeps a pump from passing, however still its rod is; a look that sees
// nothing, counted or in a word, passes it and is no longer named as missing.
func TestWhatIsSeenCounts(t *testing.T) {
	p := demoPump(t, "orrin-30")
	dry := []string{"sign: throat dry", "sign: outside dry", "sign: drain tube dry"}
	for _, c := range []struct {
		name  string
		more  []string
		word  string
		seen  int // reading, 0 for none
		looks int // that nobody took
	}{
		{"nobody looked", nil, Holds, 0, 3},
		{"dry everywhere", dry, Holds, 0, 0},
		{"no drop in a minute outside", []string{"drips: outside, pressure: 160 bar, time: 60 s, drops: 0"}, Holds, 0, 2},
		{"six drops outside", []string{"drips: outside, pressure: 160 bar, time: 60 s, drops: 6"}, NotProven, 3, 2},
		{"one drop a minute outside", []string{"drips: outside, pressure: 160 bar, time: 60 s, drops: 1"}, NotProven, 3, 2},
		{"wet outside", []string{"sign: wet outside"}, NotProven, 3, 2},
		{"three drops at the drain", []string{"drips: drain valve, pressure: 160 bar, time: 60 s, drops: 3"}, NotProven, 3, 2},
		{"it runs from the drain tube", []string{"sign: runs from the drain tube"}, NotProven, 3, 2},
		{"more drops at the throat than may be", []string{"drips: throat packing, pressure: 160 bar, time: 60 s, drops: 11"}, NotProven, 3, 2},
		{"some caught at the throat", []string{"caught: throat packing, pressure: 160 bar, time: 120 s, volume: 1.5 mL"}, NotProven, 3, 2},
		{"wet, wiped, dry", []string{"sign: wet outside", "sign: outside dry", "sign: outside dry"}, Holds, 0, 2},
		{"paint in the wet cup is no look", []string{"sign: paint in the wet cup"}, Holds, 0, 3},
	} {
		t.Run(c.name, func(t *testing.T) {
			r := judged(t, p, append(heldBoth(p, 1, "120 s"), c.more...)...)
			seen, looks := 0, 0
			for _, o := range r.Verdict.Open {
				switch o.Code {
				case LeakSeen:
					seen = o.Reading
				case Unlooked:
					looks++
				}
			}
			if r.Verdict.Word != c.word || seen != c.seen || looks != c.looks {
				t.Errorf("%q with %.3f, seen in reading %d, %d looks missing, open %v, doubts %v; want %q, %d, %d",
					r.Verdict.Word, r.Verdict.Meets, seen, looks, r.Verdict.Open, r.Doubts, c.word, c.seen, c.looks)
			}
			if n := r.Verdict.Need; c.seen > 0 && (len(n) != 1 || n[0].Code != LeakSeen && n[0].Code != Refuted || n[0].Reading != 3) {
				t.Errorf("needs %+v, want another look and nothing else", n)
			}
		})
	}
}

// One drop or more, or none, in a minute: 1 − p₀ and p₀ of the count, for every path of the place.
func TestPlaceSigns(t *testing.T) {
	p := demoPump(t, "orrin-30")
	for sign, place := range signPlace {
		s := bench4()
		s.Readings = []Reading{{Kind: Sign, Sign: sign, At: math.NaN(), Warmth: math.NaN()}}
		b, err := newBench(p, s, DefaultPrior())
		if err != nil {
			t.Fatal(err)
		}
		if len(b.obs) != 1 || len(b.signs) != 0 {
			t.Fatalf("%s: %d observations, %d signs", sign, len(b.obs), len(b.signs))
		}
		var j int8
		for i, q := range b.paths {
			if q.Place() == place.at {
				j = int8(i)
			}
		}
		q := 2 * 0.05e-6 / 60 // two drops a minute, laminar
		x := p.Limits.Hold / p.Limits.Rated
		mean := 2 * b.vars[j][0].form.flow(x, 1)
		none := math.Pow(1+mean*sq(dropSpread), -1/sq(dropSpread))
		want := none
		if place.wet {
			want = 1 - none
		}
		if got := newSampler(b, nil).right(0, []int8{j}, &draw{q: [3]float64{q}}) * b.obs[0].bad; math.Abs(got/want-1) > 1e-9 {
			t.Errorf("%s at two drops a minute: %.6g, want %.6g", sign, got, want)
		}
	}
	for _, s := range Signs {
		if _, ok := signPlace[s]; ok {
			continue
		}
		b, err := newBench(p, &Sheet{Stage: "as found", Fluid: bench4().Fluid, Readings: []Reading{{Kind: Sign, Sign: s, Warmth: math.NaN()}}}, DefaultPrior())
		if err != nil || len(b.signs) != 1 || len(b.obs) != 0 {
			t.Errorf("%s: %v", s, err)
		}
	}
}

// A motor that started again had stood at its stop pressure: a restart is a hold.
func TestRestartIsAHold(t *testing.T) {
	p := demoPump(t, "tolsk-18")
	v := judged(t, p, "restart: unknown, time: 200 s").Verdict
	if c := v.Courses[0]; !c.Seen || c.Seconds != 200 || v.has(NotHeld) {
		t.Errorf("a restart after 200 s: %+v, open %v", c, v.Open)
	}
	v = judged(t, p, "drips: outside, pressure: 200 bar, time: 60 s, drops: 0").Verdict
	if !v.has(NotHeld) || v.Need[0].Code != NotHeld || v.Need[0].Seconds != p.Limits.HoldFor {
		t.Errorf("no hold of a crank: open %v, need %+v", v.Open, v.Need)
	}
}

// A stroke that changed over goes on with the hold: whole strokes add up.
func TestWholeStrokesAddUp(t *testing.T) {
	p := demoPump(t, "orrin-30")
	v := judged(t, p, "changeover: up, pressure: 160 bar, time: 70 s", "changeover: down, pressure: 160 bar, time: 130 s", "changeover: up, pressure: 160 bar, time: 75 s").Verdict
	if up, _ := v.Course("up"); up.Seconds != 145 || up.Short() != 0 {
		t.Errorf("two upstrokes of 70 and 75 s: %+v", up)
	}
	if down, _ := v.Course("down"); down.Seconds != 130 {
		t.Errorf("a downstroke of 130 s: %+v", down)
	}
}

// One time: what is asked for is as long as the pump sheet wants a hold, whatever less would prove.
func TestNeedIsNotShorterThanTheHold(t *testing.T) {
	p := demoPump(t, "orrin-30")
	for _, s := range []float64{0.5, 1, 2} {
		v := judged(t, p, heldBoth(p, 1, fmt.Sprintf("%g s", s))...).Verdict
		if v.Word != NotProven || len(v.Need) == 0 {
			t.Fatalf("%g s: %q, needs %v", s, v.Word, v.Need)
		}
		n := v.Need[0]
		want := p.Limits.HoldFor - s
		if n.Stroke == "" {
			want = 2 * p.Limits.HoldFor
		}
		if math.Abs(n.Seconds-want) > 1e-9 {
			t.Errorf("after %g s: %+v, want %g s more", s, n, want)
		}
	}
}

// A wet place says that some path there drips, not which and not all: 1 − Π P(no drop), with P(no drop) = (1 + m/k)^(−k), k = 1/0.3², for the path
// at fault and the mean of it over the leaks of a sound one for the other (Simpson's rule over ln q).
func TestWetPlaceOfTwoPaths(t *testing.T) {
	p := demoPump(t, "varn-40")
	s := bench4()
	s.Pump = p.Name
	s.Readings = []Reading{{Kind: Sign, Sign: "wet outside", Line: 1, Warmth: math.NaN()}}
	b, err := newBench(p, s, DefaultPrior())
	if err != nil {
		t.Fatal(err)
	}
	if len(b.obs) != 1 {
		t.Fatalf("%d observations of one look", len(b.obs))
	}
	const k = 1 / (0.3 * 0.3)
	x := p.Limits.Hold / p.Limits.Rated
	none := func(leak float64) float64 { return math.Pow(1+leak*60/0.05e-6/k, -k) }
	soundNone := func(j int) float64 {
		m, sd, most := b.prior.Sound.absolute(b.limit), math.Log(b.prior.Sound.Spread), 0.05e-6/60
		sd = math.Max(sd, math.Log(most/m)/2)
		lo, hi := math.Log(m)-8*sd, math.Log(most)
		density := func(u float64) float64 { return math.Exp(-0.5 * sq((u-math.Log(m))/sd)) }
		return simpson(func(u float64) float64 { return none(x*math.Exp(u)) * density(u) }, lo, hi, 4000) / simpson(density, lo, hi, 4000)
	}
	var at []int
	for j, q := range b.paths {
		if q.Place() == pump.ToOutside {
			at = append(at, j)
		}
	}
	if len(at) != 2 {
		t.Fatalf("%d paths to the outside", len(at))
	}
	if got, want := b.obs[0].quiet, 1-soundNone(at[0])*soundNone(at[1]); math.Abs(got/want-1) > 0.02 {
		t.Errorf("both sound: %.5g, want %.5g", got, want)
	}
	for _, leak := range []float64{0.3e-9, 3e-9} {
		d := &draw{q: [3]float64{leak}}
		g := b.vars[at[0]][0].form.flow(x, 1)
		got := seen(&b.obs[0], []int8{int8(at[0])}, d)
		if want := 1 - none(g*leak)*soundNone(at[1]); math.Abs(got/want-1) > 0.02 {
			t.Errorf("%g m³/s: %.5g, want %.5g", leak, got, want)
		}
	}
}

// A count within what the sheet allows is no wrong reading, however little is usual in the shop: fifteen drops a minute at a throat where
// twenty may fall, of a shop whose sound throats hardly drip and whose worn ones pour.
func TestWeepingWithinTheLimitIsNotRefuted(t *testing.T) {
	p := differential()
	s := bench4()
	up, down := still(pump.Up, 180), still(pump.Down, 180)
	s.Readings = []Reading{up, down, {Kind: Drips, Path: "throat packing", Count: 15, Time: 60, Pressure: 200e5, UPress: 2e5, Drop: 0.05e-6, Line: 1, Warmth: math.NaN(), At: math.NaN()}}
	pr := DefaultPrior()
	pr.Sound = Size{Median: 0.0005, Spread: 2, Relative: true}
	for k := range pr.Size {
		pr.Size[k] = Size{Median: 3, Spread: 2, Relative: true}
	}
	r, err := Analyse(p, s, pr, Options{Seed: 1})
	if err != nil {
		t.Fatal(err)
	}
	for _, d := range r.Doubts {
		t.Errorf("reading %d is called wrong: %.2f", d.Reading, d.P)
	}
}
