package report

import (
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/evenstroke/evenstroke/internal/outside"
)

func tagFile(t *testing.T, tag Tag, place int) string {
	t.Helper()
	file := filepath.Join(t.TempDir(), "tag.pdf")
	f, err := os.Create(file)
	if err != nil {
		t.Fatal(err)
	}
	if err := TagPDF(f, tag, place); err != nil {
		t.Fatal(err)
	}
	if err := f.Close(); err != nil {
		t.Fatal(err)
	}
	return file
}

// A serial stands on one line of a tag however long it is, on a label and on each place of a sheet, and the code is read back.
func TestTag(t *testing.T) {
	tag := Tag{Number: "100417", Serial: "ALD 0417-B/2026 X", Model: "orrin-30", Customer: "Inner islands ferry line, northern slip", Under: []string{"2026-11-10", "Aldersay ferry yard"},
		QR: "https://192.0.2.7:8443/t/100417"}
	for place := range perSheet + 1 {
		file := tagFile(t, tag, place)
		if n := pages(t, file); n != 1 {
			t.Errorf("place %d: %d pages, want 1", place, n)
		}
		lines := output(t, outside.Program(t, "pdftotext", "poppler-utils"), "-layout", file, "-")
		for _, w := range []string{tag.Number, tag.Serial, tag.Model} {
			if !strings.Contains(lines, w) {
				t.Errorf("place %d: %q does not stand on one line:\n%s", place, w, lines)
			}
		}
	}
	png := strings.TrimSuffix(tagFile(t, tag, 8), ".pdf")
	output(t, outside.Program(t, "pdftoppm", "poppler-utils"), "-r", "150", "-png", "-singlefile", png+".pdf", png)
	if got := output(t, outside.Program(t, "zbarimg", "zbar-tools"), "--raw", "-q", png+".png"); strings.TrimSpace(got) != tag.QR {
		t.Errorf("the code on the tag says %q, want %q", got, tag.QR)
	}
	for _, place := range []int{-1, 9} {
		if err := TagPDF(&strings.Builder{}, tag, place); err == nil {
			t.Errorf("place %d is taken", place)
		}
	}
}
