package assess

import (
	"github.com/evenstroke/evenstroke/internal/record"
)

// Case is a state of a job, as far as what comes next depends on it.
type Case string

// The cases.
const (
	CaseFoundUnread   Case = "found-not-read"          // no reading as found
	CaseFoundUnjudged Case = "found-no-verdict"        // readings that no verdict was made of
	CaseFoundAgain    Case = "found-reading-doubted"   // a reading that the others contradict
	CaseFoundLonger   Case = "found-longer"            // not proven; so many seconds more settle it
	CaseFoundCheck    Case = "found-check"             // not settled, or not told which path, and a check would tell
	CaseFoundOpen     Case = "found-open"              // not proven, and nothing more would tell
	CaseFoundFails    Case = "found-does-not-hold"     // and the path is told well enough, or no check tells more
	CaseFoundHolds    Case = "found-holds"             //
	CaseSoak          Case = "soak"                    // a part to lay in while other work goes on
	CaseSafe          Case = "safe"                    // a step that makes the pump safe
	CaseStrip         Case = "strip"                   // a step of the strip
	CaseMeasure       Case = "measure"                 // a step of cleaning and measuring
	CaseChoose        Case = "choose"                  // nothing is chosen
	CaseWorn          Case = "worn"                    // a part past its limit that is not to be replaced
	CaseBuild         Case = "build"                   // a step of the build
	CaseBefore        Case = "prove-before-the-hold"   // a step before the hold
	CaseLeftUnread    Case = "left-not-read"           // built, not read as left
	CaseLeftOld       Case = "left-opened-again-since" // proved before the job was opened again
	CaseLeftUnjudged  Case = "left-no-verdict"         //
	CaseLeftAgain     Case = "left-reading-doubted"    //
	CaseLeftLonger    Case = "left-longer"             //
	CaseLeftCheck     Case = "left-check"              //
	CaseLeftOpen      Case = "left-open"               // not proven, and nothing more would tell
	CaseLeftFails     Case = "left-does-not-hold"      //
	CaseLeftShort     Case = "left-held-for-less"      // proved, but not held for as long as the pump sheet asks, and still under pressure
	CaseLeftLook      Case = "left-nobody-looked"      // proved, but nobody looked at a place, and still under pressure
	CaseAfter         Case = "prove-after-the-hold"    // proved; a step after the hold
	CaseAnswer        Case = "answer"                  // proved; points are open
	CaseBill          Case = "bill"                    // nothing on the bill
	CaseHandOver      Case = "hand-over"               // not handed over
	CaseClose         Case = "close"                   // nothing is open
	CaseClosed        Case = "closed"                  //
)

// Row is one row of the table: what comes next in a case.
type Row struct {
	Case  Case
	Stage record.Stage // where the action belongs; "" where the job stands
	Do    What
	Or    What // what may be done as well
}

// table is every state of a job and what comes next. The pages and the API read it; TestEveryCase reaches each row.
//
// Before a strip it is enough to know where to open the pump; a verdict that is not proven does not keep anybody from it. A pump that was
// built and does not hold goes back to be opened; what was seen of it until then says where. A verdict that stays open when nothing more
// tells is for somebody who may answer for it. What is missing of a hold that proved, a longer time or a look, is made up for before the
// pressure is relieved.
var table = []Row{
	{CaseFoundUnread, record.StageFound, DoHold, DoStrip},
	{CaseFoundUnjudged, record.StageFound, DoJudge, DoHold},
	{CaseFoundAgain, record.StageFound, DoAgain, DoStrip},
	{CaseFoundLonger, record.StageFound, DoLonger, DoStrip},
	{CaseFoundCheck, record.StageFound, DoCheck, DoStrip},
	{CaseFoundOpen, record.StageFound, DoStrip, DoHold},
	{CaseFoundFails, record.StageFound, DoStrip, DoCheck},
	{CaseFoundHolds, record.StageFound, DoChoose, DoHold},
	{CaseSoak, "", DoStep, ""},
	{CaseSafe, record.StageStrip, DoStep, ""},
	{CaseStrip, record.StageStrip, DoStep, ""},
	{CaseMeasure, record.StageStrip, DoStep, ""},
	{CaseChoose, record.StageChoose, DoChoose, ""},
	{CaseWorn, record.StageChoose, DoChoose, ""},
	{CaseBuild, record.StageBuild, DoStep, ""},
	{CaseBefore, record.StageProve, DoStep, ""},
	{CaseLeftUnread, record.StageProve, DoProve, ""},
	{CaseLeftOld, record.StageProve, DoProve, DoReopen},
	{CaseLeftUnjudged, record.StageProve, DoJudge, DoProve},
	{CaseLeftAgain, record.StageProve, DoAgain, DoReopen},
	{CaseLeftLonger, record.StageProve, DoLonger, DoReopen},
	{CaseLeftCheck, record.StageProve, DoCheck, DoReopen},
	{CaseLeftOpen, record.StageProve, DoAnswer, DoReopen},
	{CaseLeftFails, record.StageProve, DoReopen, DoCheck},
	{CaseLeftShort, record.StageProve, DoLonger, DoStep},
	{CaseLeftLook, record.StageProve, DoCheck, DoStep},
	{CaseAfter, record.StageProve, DoStep, ""},
	{CaseAnswer, record.StageHand, DoAnswer, ""},
	{CaseBill, record.StageHand, DoBill, ""},
	{CaseHandOver, record.StageHand, DoHandOver, ""},
	{CaseClose, record.StageHand, DoClose, ""},
	{CaseClosed, record.StageClosed, DoNothing, ""},
}

// Table returns the table of cases.
func Table() []Row { return append([]Row(nil), table...) }

func rowOf(c Case) Row {
	for _, r := range table {
		if r.Case == c {
			return r
		}
	}
	return Row{Case: c}
}
