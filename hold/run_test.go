package hold

import (
	"math"
	"testing"

	"github.com/evenstroke/evenstroke/pump"
	"github.com/evenstroke/evenstroke/stroke"
)

// A run of a force-held pump with an uneven leak, simulated in full: caught volume and time alone must give the leak back, though
// the leaking stroke is much shorter than the other, and so must the two stroke times. The inlet ball is late for as long as lets back the share of the downstroke
// that run.go takes for granted.
func TestUnevenRunGivesTheLeakBack(t *testing.T) {
	p := demoPump(t, "orrin-30")
	q := 400e-6 / 60
	p.Hose.Tip *= math.Sqrt(0.2) // little opened: the leak is larger than what the gun takes
	p.Valves[1].Lift = 0.3e-3    // so that the slow ball reaches its stop, where it can hang
	faults := []stroke.Fault{fault(t, p, "piston packing", q, 1), {Path: "inlet valve", Late: 0.04}}
	tr, err := stroke.Simulate(stroke.Setup{Pump: p, Fluid: water, Faults: faults, Mode: stroke.Run, Start: pump.Up, X0: 0,
		Duration: 160, Sample: 0.1, RelTol: 1e-5, Friction: &stroke.Friction{}})
	if err != nil {
		t.Fatal(err)
	}
	r, up, down := runReading(tr)
	if up > 0.8*down {
		t.Fatalf("the strokes take %.3g and %.3g s: the run is not uneven", up, down)
	}
	s := bench4()
	s.Readings = []Reading{r}
	b, err := newBench(p, s, DefaultPrior())
	if err != nil {
		t.Fatal(err)
	}
	j, o := pathIndex(t, b, "piston packing"), &b.obs[0]
	got, _ := newSampler(b, nil).cycleFlow(o, []int8{int8(j)}, &draw{q: [3]float64{q}})
	even := 0.5 * o.coef[j*maxVariants] * q
	leaked := tr.Leaked["piston packing"] / tr.T[len(tr.T)-1]
	model := 2 * b.prior.Model * leaked
	if math.Abs(leaked-got) > model {
		t.Errorf("%.4g m³/s leak away in the full model, %.4g by the formula", leaked, got)
	}
	if math.Abs(o.y-got) > 2*math.Sqrt(o.c0)+model {
		t.Errorf("the cycle loses %.4g m³/s by the readings, %.4g by the leak put in (± %.2g)", o.y, got, math.Sqrt(o.c0))
	}
	if math.Abs(leaked-even) < 3*math.Max(model/2, math.Abs(leaked-got)) {
		t.Errorf("an even split would do as well (%.4g for %.4g): the case does not tell", even, leaked)
	}
	r.UpTime, r.DownTime, r.UTime = up, down, 0.01
	timed := b.runTimed(r)
	if want := timed.coef[j*maxVariants] * q; math.Abs(timed.y-want) > 1.5*math.Sqrt(timed.c0) {
		t.Errorf("the strokes differ by %.4g m³/s by their times, %.4g by the leak put in (± %.2g)", timed.y, want, math.Sqrt(timed.c0))
	}
}

// runReading is what a bench notes of a simulated run from its third stroke on, in whole cycles, and its mean stroke times.
func runReading(tr *stroke.Trace) (r Reading, up, down float64) {
	strokes := tr.Strokes[2:]
	strokes = strokes[:len(strokes)/2*2]
	first, last := strokes[0], strokes[len(strokes)-1]
	n, volume := float64(len(strokes)/2), 0.0
	for _, s := range strokes {
		volume += s.Delivered
		if s.Dir == pump.Up {
			up += s.Dur / n
		} else {
			down += s.Dur / n
		}
	}
	pressure, k := 0.0, 0.0
	for i, t := range tr.T {
		if t >= first.Start && t <= last.Start+last.Dur {
			pressure, k = pressure+tr.P[pump.Line][i], k+1
		}
	}
	r = timed(Run, 0, pressure/k, 0, last.Start+last.Dur-first.Start)
	r.Count, r.Volume, r.UVolume = int(n), volume, 0.01*volume
	return r, up, down
}

// What a run with volume adds beside its leaks at fault: the sound paths, each for as long as it is under pressure, and the spread
// of debris, whose ball reseats on every stroke whatever number the sheet gives (by hand, for an even split of the cycle).
func TestSoundLeaksAndDebrisInARun(t *testing.T) {
	p, s := demoPump(t, "orrin-30"), bench4()
	r := timed(Run, 0, p.Limits.Rated, 0, 60)
	r.Count, r.Volume, r.UVolume, r.Reseat = 20, 1.2e-3, 1e-5, 1
	s.Readings = []Reading{r}
	b, err := newBench(p, s, DefaultPrior())
	if err != nil {
		t.Fatal(err)
	}
	strokes := func(q pump.Path) (n float64) {
		for _, d := range pump.Dirs {
			n += math.Abs(float64(q.Shows[d]))
		}
		return n
	}
	j := pathIndex(t, b, "inlet valve")
	debris := 0
	for !b.vars[j][debris].debris {
		debris++
	}
	var all, others float64
	for i, q := range b.paths {
		all += 0.5 * strokes(q) * b.sound[i].mean
		if i != j {
			others += 0.5 * strokes(q) * b.sound[i].mean
		}
	}
	sm := newSampler(b, nil)
	if got, _ := sm.mean(&b.obs[0], nil, &draw{}); math.Abs(got/all-1) > 1e-9 {
		t.Errorf("sound paths lose %.5g m³/s, want %.5g", got, all)
	}
	d := &draw{q: [3]float64{1e-9}, v: [3]int8{int8(debris)}}
	flow, _ := sm.cycleFlow(&b.obs[0], []int8{int8(j)}, d)
	got, extra := sm.mean(&b.obs[0], []int8{int8(j)}, d)
	if want := others + flow; math.Abs(got/want-1) > 1e-9 {
		t.Errorf("with the inlet valve at fault %.5g m³/s are lost, want %.5g", got, want)
	}
	if want := sq(reseatSpread * 0.5e-9); math.Abs(extra/want-1) > 1e-9 {
		t.Errorf("debris spreads by %.4g, want %.4g", extra, want)
	}
	r.Volume, r.UpTime, r.DownTime = math.NaN(), 1.5, 1.5
	s.Readings = []Reading{r}
	if b, err = newBench(p, s, DefaultPrior()); err != nil {
		t.Fatal(err)
	}
	_, extra = newSampler(b, nil).mean(&b.obs[0], []int8{int8(j)}, d)
	if want := sq(reseatSpread * 1e-9); math.Abs(extra/want-1) > 0.05 { // κ is near 1
		t.Errorf("debris spreads the strokes' difference by %.4g, want %.4g", extra, want)
	}
}
