package hold

import (
	"fmt"
	"math"
	"sort"

	"github.com/evenstroke/evenstroke/fluid"
)

// Result is what the readings say. Flows are in mL/min, since that is what a technician can picture; UCUM code mL/min.
type Result struct {
	Pump       string      `json:"pump"`
	Serial     string      `json:"serial,omitempty"`
	Stage      string      `json:"stage"`
	Model      string      `json:"model"` // version of the model
	Verdict    Verdict     `json:"verdict"`
	Sets       []SetShare  `json:"fault_sets"` // most probable first, all of them
	Paths      []PathShare `json:"paths"`      // in the order of the pump sheet
	Groups     [][]string  `json:"groups"`     // paths that these readings cannot tell apart
	Runs       []RunShare  `json:"runs,omitempty"`
	Doubts     []Doubt     `json:"doubts"` // readings that are probably wrong or contradict each other
	Next       []Check     `json:"next_checks,omitempty"`
	Draws      int         `json:"draws"`
	Effective  float64     `json:"effective_draws"`
	StdErr     float64     `json:"probability_std_error"` // Monte Carlo error of the probabilities
	Assumed    []string    `json:"assumed"`
	PriorFrom  string      `json:"prior"`
	LimitMLMin float64     `json:"limit_ml_min"` // leak at rated pressure at which the strictest stroke just meets its limit
}

// SetShare is one fault set with its probability.
type SetShare struct {
	Paths []string `json:"paths"` // empty: no fault
	P     float64  `json:"p"`
}

// Quantiles are the 5, 50 and 95 % points.
type Quantiles struct {
	Q05 float64 `json:"q05"`
	Q50 float64 `json:"q50"`
	Q95 float64 `json:"q95"`
}

// PathShare is one path: the probability that it is at fault, and its leak at rated pressure.
type PathShare struct {
	Path string  `json:"path"`
	P    float64 `json:"p"`
	// Flow is the leak [mL/min] given that the path is at fault: the interval to judge by when it is.
	Flow Quantiles `json:"flow_ml_min"`
	// Overall is the leak [mL/min] whether at fault or not: a path that is probably sound has an interval near zero.
	Overall Quantiles          `json:"flow_overall_ml_min"`
	How     map[string]float64 `json:"how,omitempty"` // probability of each way to be at fault, given that it is
}

// RunShare is what a run gave of what its cycles displace. What lacks is leaks and what compression and late balls take, which is assumed.
type RunShare struct {
	Reading     int     `json:"reading"` // 1 for the first
	Cycles      int     `json:"cycles"`
	ML          float64 `json:"ml"`            // caught
	DisplacedML float64 `json:"displaced_ml"`  // by all cycles
	Efficiency  float64 `json:"efficiency"`    // volumetric: caught over displaced, see stroke.VolumetricEfficiency
	SD          float64 `json:"efficiency_sd"` // its standard deviation, by the error of what was caught
	AssumedLoss float64 `json:"assumed_loss"`  // share of what is displaced that is taken to be lost without a leak
	LossSD      float64 `json:"assumed_sd"`    // its standard deviation
}

// Doubt is a reading that is probably wrong, or one of several that contradict each other.
type Doubt struct {
	Reading int     `json:"reading"` // 1 for the first
	P       float64 `json:"p_wrong"`
	Text    string  `json:"text"`
}

const (
	mlPerMin = 60e6 // m³/s to mL/min
	mL       = 1e6  // m³ to mL
)

// summarise turns the draws into the result.
func (b *bench) summarise(post *posterior) *Result {
	r := &Result{
		Pump: b.p.Name, Serial: b.sheet.Serial, Stage: b.sheet.Stage, Model: Version, Draws: len(post.draws), Effective: post.ess,
		StdErr: post.se, PriorFrom: "file", LimitMLMin: b.limit * mlPerMin, Assumed: b.assumptions(),
	}
	if b.prior.Default {
		r.PriorFrom = "default"
	}
	for i, t := range post.tally {
		s := SetShare{P: b.sets[i].prior * t.sum / float64(max(1, t.n)) / post.total, Paths: []string{}}
		for _, j := range sortedPaths(b.sets[i].paths) {
			s.Paths = append(s.Paths, b.paths[j].Name)
		}
		r.Sets = append(r.Sets, s)
	}
	r.Paths = b.pathShares(post)
	r.Groups = b.groups(post)
	r.Runs = b.runs()
	r.Doubts = b.doubts(post)
	r.Verdict = b.verdict(post, r.Doubts)
	sort.SliceStable(r.Sets, func(i, j int) bool { return r.Sets[i].P > r.Sets[j].P })
	return r
}

func sortedPaths(set []int8) []int8 {
	out := append([]int8(nil), set...)
	sort.Slice(out, func(i, j int) bool { return out[i] < out[j] })
	return out
}

func (b *bench) pathShares(post *posterior) []PathShare {
	n := len(b.paths)
	hist := make([]histogram, n)
	how := make([]map[string]float64, n)
	p := make([]float64, n)
	for j := range b.paths {
		hist[j] = newHistogram(b.median[j]-8*b.sd[j]-4, b.median[j]+8*b.sd[j]+2)
		how[j] = map[string]float64{}
	}
	for k := range post.draws {
		d := &post.draws[k]
		w := b.share(post, d)
		for a, j := range b.sets[d.set].paths {
			p[j] += w
			hist[j].add(d.u[a], w)
			how[j][b.vars[j][d.v[a]].name] += w
		}
	}
	out := make([]PathShare, n)
	for j, q := range b.paths {
		out[j] = PathShare{Path: q.Name, P: math.Min(1, p[j])}
		if p[j] > 0 {
			out[j].Flow = Quantiles{hist[j].flow(0.05), hist[j].flow(0.5), hist[j].flow(0.95)}
			for name := range how[j] {
				how[j][name] /= p[j]
			}
			out[j].How = how[j]
		} else { // no draw of this path has any weight: its prior is all that is known
			out[j].Flow = b.priorFlow(j)
		}
		out[j].Overall = b.overall(j, p[j], &hist[j])
	}
	return out
}

func (b *bench) priorFlow(j int) Quantiles {
	at := func(z float64) float64 { return math.Exp(b.median[j]+z*b.sd[j]) * mlPerMin }
	return Quantiles{at(-z95), at(0), at(z95)}
}

const z95 = 1.6448536269514722 // standard normal quantile of 0.95

// overall mixes the leak at fault with that of a sound path, which lies below.
func (b *bench) overall(j int, p float64, h *histogram) Quantiles {
	at := func(u float64) float64 {
		if u <= 1-p || p == 0 {
			return b.sound[j].quantile(u/math.Max(1-p, 1e-9)) * mlPerMin
		}
		return h.flow((u - (1 - p)) / p)
	}
	return Quantiles{at(0.05), at(0.5), at(0.95)}
}

// histogram collects weights over ln q finely enough that its quantiles are good to half a percent of the flow.
type histogram struct {
	lo, width float64
	w         []float64
	total     float64
}

func newHistogram(lo, hi float64) histogram {
	const width = 0.01
	return histogram{lo: lo, width: width, w: make([]float64, int((hi-lo)/width)+2)}
}

func (h *histogram) add(u, w float64) {
	i := int((u - h.lo) / h.width)
	i = min(max(i, 0), len(h.w)-1)
	h.w[i] += w
	h.total += w
}

// flow returns the quantile of a flow in mL/min.
func (h *histogram) flow(p float64) float64 { return h.value(p) * mlPerMin }

// value returns the quantile, linear within a bin.
func (h *histogram) value(p float64) float64 {
	want, sum := p*h.total, 0.0
	for i, w := range h.w {
		if sum+w >= want && w > 0 {
			return math.Exp(h.lo + (float64(i)+(want-sum)/w)*h.width)
		}
		sum += w
	}
	return math.Exp(h.lo + float64(len(h.w))*h.width)
}

// groups finds the paths that the readings cannot tell apart: exchanging one for the other in the most probable sets
// changes the evidence by less than a factor of three.
func (b *bench) groups(post *posterior) [][]string {
	z := map[string]float64{}
	for i, t := range post.tally {
		z[setKey(b.sets[i].paths)] = t.sum / float64(max(1, t.n))
	}
	link := make([]int, len(b.paths))
	for j := range link {
		link[j] = j
	}
	find := func(j int) int {
		for link[j] != j {
			j = link[j]
		}
		return j
	}
	for i, t := range post.tally {
		set := b.sets[i].paths
		p := b.sets[i].prior * t.sum / float64(max(1, t.n)) / post.total
		if p < 0.05 {
			continue
		}
		for a, j := range set {
			for o := range b.paths {
				if b.prior.weight(b.paths[o]) == 0 || contains(set, int8(o)) {
					continue
				}
				swapped := append([]int8(nil), set...)
				swapped[a] = int8(o)
				if ratio := z[setKey(swapped)] / z[setKey(set)]; ratio > 1.0/3 {
					link[find(int(j))] = find(o)
				}
			}
		}
	}
	members := map[int][]string{}
	for j, q := range b.paths {
		members[find(j)] = append(members[find(j)], q.Name)
	}
	out := [][]string{}
	for j := range b.paths {
		if m := members[j]; len(m) > 1 {
			out = append(out, m)
		}
	}
	return out
}

func contains(set []int8, j int8) bool {
	for _, k := range set {
		if k == j {
			return true
		}
	}
	return false
}

func setKey(set []int8) string {
	key := make([]byte, 0, 3)
	for _, j := range sortedPaths(set) {
		key = append(key, byte(j))
	}
	return string(key)
}

// assumptions lists the defaults that stand behind the answer.
func (b *bench) assumptions() []string {
	var out []string
	if b.prior.Default {
		out = append(out, "the prior is general experience, no published source; give the shop's own rates in a prior file")
	}
	out = append(out, fmt.Sprintf("one reading in %.0f may be wrong", 1/math.Max(b.prior.Wrong, 1e-3)))
	if len(b.net.holds) > 0 {
		out = append(out, "the compliance of line and chambers is known to 25 %, cooling takes up to 1 % of the pressure (one standard deviation)")
		if math.IsNaN(b.sheet.Fluid.Air) {
			out = append(out, fmt.Sprintf("the fluid holds %.1f %% of air by volume at no pressure; general experience, no published source", 100*fluid.UsualAir))
		}
	}
	if b.drift > math.Sqrt2*b.prior.Drift && b.hasCreep() {
		out = append(out, fmt.Sprintf("the fluid in the line cools or warms by %.0f K an hour while a mark is watched (one standard deviation); an assumption, no published source", 3600*coolingRate))
	}
	if b.hasRun() {
		loss, sd := b.runLoss()
		out = append(out, fmt.Sprintf("a run without any leak is taken to give %.1f %% less than its strokes displace, for compression and late balls (one standard deviation %.1f %%); general experience, no published source", 100*loss, 100*sd))
	}
	if len(b.signs) > 0 {
		out = append(out, "how often a fault shows a sign is general experience, no published source")
	}
	return out
}
