package archive

import (
	"bytes"
	"fmt"
	"io"
	"math/rand/v2"
	"testing"

	"github.com/evenstroke/evenstroke/internal/record"
)

// typical is a job of 300 entries and 8 photos.
func typical(b *testing.B) (*workshop, int64) {
	w := newWorkshop(b, "sqlite", "Aldersay", 1)
	job := w.book("u1", w.usual("Ferry yard", "ALD-1", ""))
	r := rand.New(rand.NewPCG(1, 2))
	for i := range 300 {
		if i%40 == 0 {
			w.write(job, 0, &record.Pictured{Photo: w.photo(r)})
			continue
		}
		w.write(job, 0, &record.Noted{Text: fmt.Sprintf("note %d about what was seen at the throat", i)})
	}
	return w, job
}

func BenchmarkExport(b *testing.B) {
	w, job := typical(b)
	for b.Loop() {
		if err := Export(ctx(), w.st, "bench", job, io.Discard); err != nil {
			b.Fatal(err)
		}
	}
}

func BenchmarkImport(b *testing.B) {
	w, job := typical(b)
	data := w.export(job)
	b.SetBytes(int64(len(data)))
	for b.Loop() {
		b.StopTimer()
		to := newWorkshop(b, "sqlite", "Tarn", 0)
		b.StartTimer()
		if _, err := Import(ctx(), to.st, bytes.NewReader(data), int64(len(data)), 1, 1); err != nil {
			b.Fatal(err)
		}
	}
}
