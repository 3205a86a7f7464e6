package gate

import (
	"fmt"
	"slices"
	"strings"

	"github.com/evenstroke/evenstroke/internal/record"
)

// Action is something that not everybody may do.
type Action string

// The actions.
const (
	Read          Action = "reading the shop's records"
	WriteJob      Action = "writing in a job"
	KeepPump      Action = "keeping pumps"
	AddCustomer   Action = "adding a customer"
	CorrectOthers Action = "correcting the entries of others"
	StrikeOthers  Action = "striking the entries of others"
	Override      Action = "overriding a verdict"
	KeepSheet     Action = "keeping pump sheets"
	KeepFluid     Action = "keeping fluids"
	KeepTool      Action = "keeping tools"
	KeepCustomer  Action = "keeping customers"
	KeepPrice     Action = "keeping prices"
	Bill          Action = "writing a bill"
	KeepPerson    Action = "keeping people"
	KeepDevice    Action = "letting devices in and out"
	SeeWrong      Action = "reading which wrong PINs were typed where"
	MakeToken     Action = "making tokens for programs"
	KeepOwner     Action = "keeping owners"
	KeepShop      Action = "keeping the shop itself"
	Export        Action = "taking all records out, and backups"
	Import        Action = "taking jobs of other shops in"
)

// rule says from which role on an action is allowed, and whether a token may do it: nothing that lets somebody in, or that
// leads out of the reach of the person, can be done by a program.
type rule struct {
	from  record.Role
	token bool
	whole bool // a token counts as its person, not as office at most
}

var rules = map[Action]rule{
	Read:          {from: record.Technician, token: true},
	WriteJob:      {from: record.Technician, token: true},
	KeepPump:      {from: record.Technician, token: true},
	AddCustomer:   {from: record.Technician, token: true},
	CorrectOthers: {from: record.Trainer, token: true},
	StrikeOthers:  {from: record.Trainer, token: true},
	Override:      {from: record.Trainer},
	KeepSheet:     {from: record.Trainer, token: true},
	KeepFluid:     {from: record.Trainer, token: true},
	KeepTool:      {from: record.Trainer, token: true},
	KeepCustomer:  {from: record.Office, token: true},
	KeepPrice:     {from: record.Office, token: true},
	Bill:          {from: record.Office, token: true},
	KeepPerson:    {from: record.Office},
	KeepDevice:    {from: record.Office},
	SeeWrong:      {from: record.Office, token: true},
	MakeToken:     {from: record.Office},
	KeepOwner:     {from: record.Owner},
	KeepShop:      {from: record.Owner},
	Export:        {from: record.Owner},
	Import:        {from: record.Owner, token: true, whole: true},
}

// Actions lists all actions.
func Actions() []Action {
	return []Action{Read, WriteJob, KeepPump, AddCustomer, CorrectOthers, StrikeOthers, Override, KeepSheet, KeepFluid, KeepTool,
		KeepCustomer, KeepPrice, Bill, KeepPerson, KeepDevice, SeeWrong, MakeToken, KeepOwner, KeepShop, Export, Import}
}

// May says whether somebody may do something: nil, or a *record.Fault of code NotAllowed. Each role may do what the one before it
// may (record.Role). An unknown action or role is not allowed.
func May(who Who, what Action) error {
	if who.Person == 0 || who.Locked {
		return record.Faultf(record.NotAllowed, string(what), "nobody who is signed in", "a person who is signed in", "sign in")
	}
	r, ok := rules[what]
	if !ok {
		return record.Faultf(record.NotAllowed, string(what), "an action this version does not know", "", "")
	}
	if who.Token && !r.token {
		return record.Faultf(record.NotAllowed, string(what), "a program with a token", "a person at a device of the shop", "do it by hand")
	}
	if who.Token && who.Scope != "write" && what != Read && what != SeeWrong {
		return record.Faultf(record.NotAllowed, string(what), "a token that may only read", "a token that may write", "make another token")
	}
	role := who.P.Role
	if who.Token && r.whole {
		role = who.Whole
	}
	have, need := rank(role), rank(r.from)
	if have < 0 || have < need {
		return record.Faultf(record.NotAllowed, string(what), fmt.Sprintf("the role %q", role), from(r.from), "ask somebody who may, or have the role changed")
	}
	return nil
}

// MayKeepPerson says whether somebody may make a person (was is "") or change one of role was into one of role will: owners are kept by
// owners only.
func MayKeepPerson(who Who, was, will record.Role) error {
	if was == record.Owner || will == record.Owner {
		return May(who, KeepOwner)
	}
	return May(who, KeepPerson)
}

// Keeping is the action of keeping values of a kind of the catalogue; who is kept, MayKeepPerson says better.
func Keeping(k record.SubjectKind) Action {
	switch k {
	case record.OfShop:
		return KeepShop
	case record.OfPerson:
		return KeepPerson
	case record.OfDevice:
		return KeepDevice
	case record.OfCustomer:
		return KeepCustomer
	case record.OfPump:
		return KeepPump
	case record.OfTool:
		return KeepTool
	case record.OfSheet:
		return KeepSheet
	case record.OfFluid:
		return KeepFluid
	case record.OfPrice:
		return KeepPrice
	}
	return Action("keeping a " + string(k))
}

func rank(r record.Role) int { return slices.Index(record.Roles(), r) }

// from writes the roles from one on: "office or owner".
func from(r record.Role) string {
	var names []string
	for _, x := range record.Roles()[rank(r):] {
		names = append(names, string(x))
	}
	return strings.Join(names, " or ")
}
