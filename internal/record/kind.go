package record

import "slices"

// Kind is the kind of an entry.
type Kind string

// The kinds of entries of a job, and of the catalogue (Kept, Retired).
const (
	KindBooked   Kind = "booked"   // the pump came in: whose, which, why
	KindNoted    Kind = "noted"    // a note
	KindPictured Kind = "pictured" // a photo
	KindBenched  Kind = "benched"  // with what a hold is made: fluid, gauge, ruler
	KindPressed  Kind = "pressed"  // a key of the hold page
	KindRead     Kind = "read"     // a reading of a hold
	KindJudged   Kind = "judged"   // a verdict, with its inputs and the version of the engine
	KindFound    Kind = "found"    // what was seen or measured on a part
	KindChose    Kind = "chose"    // what becomes of each part
	KindMinded   Kind = "minded"   // a caution was acknowledged
	KindSoaking  Kind = "soaking"  // a soak was started
	KindDid      Kind = "did"      // a step was done and signed
	KindStacked  Kind = "stacked"  // how a stack was built
	KindMoved    Kind = "moved"    // to another stage
	KindOverrode Kind = "overrode" // good by somebody's word, against or without a verdict
	KindPriced   Kind = "priced"   // a line of the bill
	KindHanded   Kind = "handed"   // handed over, with a signature
	KindClosed   Kind = "closed"   // the job is closed
	KindStruck   Kind = "struck"   // an entry was taken out, with the reason

	KindKept    Kind = "kept"    // a value of the catalogue, as a whole
	KindRetired Kind = "retired" // no longer offered
)

// Body is what an entry says.
type Body interface {
	Kind() Kind
	Check() error // a *Fault for a value that cannot be
}

var bodies = map[Kind]func() Body{
	KindBooked:   func() Body { return &Booked{} },
	KindNoted:    func() Body { return &Noted{} },
	KindPictured: func() Body { return &Pictured{} },
	KindBenched:  func() Body { return &Benched{} },
	KindPressed:  func() Body { return &Pressed{} },
	KindRead:     func() Body { return &Read{} },
	KindJudged:   func() Body { return &Judged{} },
	KindFound:    func() Body { return &Found{} },
	KindChose:    func() Body { return &Chose{} },
	KindMinded:   func() Body { return &Minded{} },
	KindSoaking:  func() Body { return &Soaking{} },
	KindDid:      func() Body { return &Did{} },
	KindStacked:  func() Body { return &Stacked{} },
	KindMoved:    func() Body { return &Moved{} },
	KindOverrode: func() Body { return &Overrode{} },
	KindPriced:   func() Body { return &Priced{} },
	KindHanded:   func() Body { return &Handed{} },
	KindClosed:   func() Body { return &Closed{} },
	KindStruck:   func() Body { return &Struck{} },
	KindKept:     func() Body { return &Kept{} },
	KindRetired:  func() Body { return &Retired{} },
}

// Kinds lists all kinds.
func Kinds() []Kind {
	return []Kind{KindBooked, KindNoted, KindPictured, KindBenched, KindPressed, KindRead, KindJudged, KindFound, KindChose, KindMinded,
		KindSoaking, KindDid, KindStacked, KindMoved, KindOverrode, KindPriced, KindHanded, KindClosed, KindStruck, KindKept, KindRetired}
}

// Linked says whether entries of a kind also enter the chain of the whole shop: what somebody signs for, or a verdict.
func (k Kind) Linked() bool {
	switch k {
	case KindJudged, KindDid, KindOverrode, KindHanded, KindClosed:
		return true
	}
	return false
}

// Amendable says whether an entry of a kind can be corrected or struck. A verdict, a move and a closing are made anew instead:
// later entries rest on them; a strike stays.
func (k Kind) Amendable() bool {
	switch k {
	case KindJudged, KindMoved, KindClosed, KindStruck:
		return false
	}
	return true
}

// HoldStage says which hold of a job a reading belongs to.
type HoldStage string

// The two holds of a job.
const (
	AsFound HoldStage = "as found"
	AsLeft  HoldStage = "as left"
)

func (h HoldStage) check() error {
	if h != AsFound && h != AsLeft {
		return Faultf(Invalid, "hold", quoted(string(h)), `"as found" or "as left"`, "")
	}
	return nil
}

// Stage is where a job stands.
type Stage string

// The stages in their order.
const (
	StageBooked Stage = "booked in"
	StageFound  Stage = "as found"
	StageStrip  Stage = "strip"
	StageChoose Stage = "choose"
	StageBuild  Stage = "build"
	StageProve  Stage = "prove"
	StageHand   Stage = "hand over"
	StageClosed Stage = "closed"
)

// Stages lists the stages in their order.
func Stages() []Stage {
	return []Stage{StageBooked, StageFound, StageStrip, StageChoose, StageBuild, StageProve, StageHand, StageClosed}
}

// OpenStages lists the stages of a job that is still in the shop.
func OpenStages() []Stage { return Stages()[:len(Stages())-1] }

// Rank is the place of a stage in their order, from 0; −1 for what is no stage.
func (s Stage) Rank() int { return slices.Index(Stages(), s) }

// Before says whether a stage comes before another.
func (s Stage) Before(t Stage) bool { return s.Rank() < t.Rank() }

func (s Stage) check() error {
	if s.Rank() >= 0 {
		return nil
	}
	return Faultf(Invalid, "stage", quoted(string(s)), "one of the stages of a job", "")
}
