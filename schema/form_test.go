package schema

import (
	"slices"
	"testing"
)

func TestFormOf(t *testing.T) {
	f, err := FormOf("hold")
	if err != nil {
		t.Fatal(err)
	}
	list := f.Field("readings")
	if list == nil || list.Takes != TakesList || !list.Required || len(list.Items) < 10 {
		t.Fatalf("readings: %+v", list)
	}
	i := slices.IndexFunc(list.Items, func(k Form) bool { return k.Title == "locked" })
	if i < 0 {
		t.Fatal("no locked hold among the readings")
	}
	points := list.Items[i].Field("pressures")
	if points.Least != 2 || points.Items[0].Field("pressure").Quantity != "pressure" {
		t.Errorf("pressures of a locked hold: %+v", points)
	}
	for key, want := range map[string]Takes{"stage": TakesChoice, "fluid": TakesBlock, "ruler": TakesQuantity, "note": TakesText} {
		if x := f.Field(key); x == nil || x.Takes != want || x.Required {
			t.Errorf("%s: %+v, want to take %v", key, x, want)
		}
	}
	if grade := f.Field("fluid").Form.Field("grade"); grade.Takes != TakesWhole {
		t.Errorf("grade: %+v", grade)
	}
	if v := list.Items[i].Field("vented"); v.Takes != TakesYesNo {
		t.Errorf("vented: %+v", v)
	}
	if f.Field("nothing") != nil {
		t.Error("a key that is not there has a field")
	}
	if _, err := FormOf("no"); err == nil {
		t.Error("a schema that is not there has a form")
	}
}
