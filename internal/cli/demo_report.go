package cli

import (
	"bytes"
	"path/filepath"

	"github.com/evenstroke/evenstroke/hold"
	"github.com/evenstroke/evenstroke/internal/demo"
	"github.com/evenstroke/evenstroke/internal/draw"
	"github.com/evenstroke/evenstroke/internal/outfile"
	"github.com/evenstroke/evenstroke/internal/report"
	"github.com/evenstroke/evenstroke/pump"
)

// demoDoc is the JSON of `evenstroke demo`.
type demoDoc struct {
	Folder     string       `json:"folder"`
	Pump       string       `json:"pump"`
	Serial     string       `json:"serial"`
	Found      *hold.Result `json:"as_found"`
	Again      *hold.Result `json:"as_found_with_check"`
	Steps      []stepDoc    `json:"steps"`
	Departures []departDoc  `json:"departures"` // of the first build
	Left       *hold.Result `json:"as_left"`
	Moves      []moveDoc    `json:"simulated"`
	Files      []fileDoc    `json:"files"`
}

type moveDoc struct {
	What        string  `json:"what"`
	Changeovers int     `json:"changeovers"`
	MassError   float64 `json:"mass_balance_error"`
}

type fileDoc struct {
	Name string `json:"name"`
	What string `json:"what"`
}

func describeDemo(a *app, j *demoJob) demoDoc {
	d := demoDoc{Folder: j.dir, Pump: j.p.Name, Serial: demoSerial, Found: j.found, Again: j.again, Steps: a.describeSteps(j.steps),
		Departures: describeDepartures(j.deps, a.sys), Left: j.left}
	for i, tr := range j.traces {
		d.Moves = append(d.Moves, moveDoc{j.moves[i], len(tr.Changeovers), tr.MassError})
	}
	for _, f := range j.files {
		d.Files = append(d.Files, fileDoc{f[0], f[1]})
	}
	return d
}

// writeReport draws the pictures of the demo job and writes its report; it returns file names with what they are.
func (a *app) writeReport(j *demoJob) ([][2]string, error) {
	doc, err := a.demoDocument(j)
	if err != nil {
		return nil, err
	}
	var page bytes.Buffer
	if err := report.HTML(&page, doc); err != nil {
		return nil, err
	}
	out := []struct {
		name, what string
		data       []byte
	}{
		{"report.html", "the report, with its pictures inside", page.Bytes()},
		{"leakmap-found.svg", "leak map as found", []byte(draw.LeakMap(j.p, j.again, a.sys))},
		{"leakmap-left.svg", "leak map as left", []byte(draw.LeakMap(j.p, j.left, a.sys))},
		{"work.svg", "the order of work in pictures", []byte(draw.Work(j.steps, a.sys))},
	}
	var files [][2]string
	for _, f := range out {
		if err := outfile.Write(filepath.Join(j.dir, f.name), f.data); err != nil {
			return nil, err
		}
		files = append(files, [2]string{f.name, f.what})
	}
	return append(files, [2]string{"orrin-simulated.csv", "the pump as found in the full model"},
		[2]string{"*.yaml", "pump sheets, hold sheets, prior, build record"}), nil
}

func (a *app) demoDocument(j *demoJob) (report.Document, error) {
	doc := report.Document{
		Title: "Pump report", Shop: "Coatings workshop of the Aldersay ferry yard (invented)", Version: Version, Units: a.sys,
		Job: []report.Fact{
			{Name: "Pump", Value: j.p.Name + ", serial " + demoSerial}, {Name: "Brought in by", Value: "the deck gang"},
			{Name: "Complaint", Value: "creeps at the stall with the gun shut"}, {Name: "Rebuilt by", Value: "the apprentice, checked by the trainer"},
		},
		Pump: j.p, Steps: j.steps, Audited: true, Departures: j.deps,
		Unknown: []string{"Surfaces were not measured in this demo; what to keep was decided by the leak map alone."},
	}
	for _, h := range []struct {
		heading, file string
		r             *hold.Result
	}{{"As found", "orrin-as-found.yaml", j.found}, {"As found, with the check that was asked for", "orrin-as-found-2.yaml", j.again}, {"As left", "orrin-as-left.yaml", j.left}} {
		data, _ := demo.File(h.file)
		s, err := hold.ReadSheet(h.file, data, nil)
		if err != nil {
			return doc, err
		}
		doc.Holds = append(doc.Holds, report.Hold{Heading: h.heading, Result: h.r, Sheet: s})
	}
	for _, st := range j.p.Stacks {
		an, err := j.p.StackUnder(st, 0, pump.Conditions{})
		if err != nil {
			return doc, err
		}
		doc.Stacks = append(doc.Stacks, report.Stack{Name: st.Name, Analysis: &an})
	}
	torques, err := demoTorques(j.p)
	if err != nil {
		return doc, err
	}
	doc.Torques = torques
	doc.Plots = draw.RunCurves(j.traces[0])
	return doc, nil
}

// demoTorques analyses every joint with the workshop's wrench.
func demoTorques(p *pump.Pump) ([]report.Torque, error) {
	tool, _, _, err := torqueFlags{class: "II A", length: "400 mm", step: "0.5 N·m"}.tool()
	if err != nil {
		return nil, err
	}
	var out []report.Torque
	for _, joint := range p.Joints {
		b, err := p.Bolt(joint)
		if err != nil {
			return nil, err
		}
		b.Tool, b.Adapter = tool, joint.Adapter
		an, err := b.Analyse()
		if err != nil {
			return nil, err
		}
		out = append(out, report.Torque{Joint: joint, Analysis: &an})
	}
	return out, nil
}
