package store

import (
	"fmt"
	"os"
	"path/filepath"
	"strconv"
	"sync/atomic"
	"testing"
	"time"

	"github.com/evenstroke/evenstroke/internal/pgtest"
	"github.com/evenstroke/evenstroke/internal/record"
)

// engines runs a benchmark on both engines, each of which waits for the disk.
func engines(b *testing.B, run func(b *testing.B, s *Store)) {
	for _, engine := range []string{"sqlite", "postgres"} {
		b.Run(engine, func(b *testing.B) {
			where := filepath.Join(b.TempDir(), "shop.db")
			if engine == "postgres" {
				where = pgtest.ClusterOf(b, true).Database(b)
			}
			s, err := Open(b.Context(), where, Options{})
			must(b, err)
			defer func() { must(b, s.Close()) }()
			run(b, s)
		})
	}
}

// sizes are the numbers of jobs that reading is measured with: 1,000, or EVENSTROKE_JOBS.
func sizes(b *testing.B) int {
	n := 1000
	if text := os.Getenv("EVENSTROKE_JOBS"); text != "" {
		var err error
		n, err = strconv.Atoi(text)
		must(b, err)
	}
	return n
}

func BenchmarkAppend(b *testing.B) {
	for _, writers := range []int{1, 16} {
		b.Run(fmt.Sprintf("writers=%d", writers), func(b *testing.B) {
			engines(b, func(b *testing.B, s *Store) {
				jobs := make([]int64, writers)
				for i := range jobs {
					jobs[i] = aJob(b, s)
				}
				var left atomic.Int64
				left.Store(int64(b.N))
				b.ResetTimer()
				for _, err := range race(writers, func(w int) error {
					for left.Add(-1) >= 0 {
						if _, err := s.Append(b.Context(), jobs[w], AnySeq, draft(&record.Noted{Text: "a note of some words, as they are"})); err != nil {
							return err
						}
					}
					return nil
				}) {
					must(b, err)
				}
				b.ReportMetric(float64(b.N)/b.Elapsed().Seconds(), "entries/s")
			})
		})
	}
}

// BenchmarkRead reads the pages of a shop with many jobs.
func BenchmarkRead(b *testing.B) {
	n := sizes(b)
	engines(b, func(b *testing.B, s *Store) {
		begin := time.Now()
		must(b, s.Bulk(b.Context(), n, demoJob))
		fmt.Fprintf(os.Stderr, "%d jobs loaded in %v\n", n, time.Since(begin).Round(time.Millisecond))
		for name, read := range map[string]func(i int) error{
			"job":   func(i int) error { _, err := s.Job(b.Context(), int64(i%n)+1); return err },
			"board": func(int) error { _, err := s.Board(b.Context(), 20); return err },
			"search-serial": func(i int) error {
				_, err := s.Search(b.Context(), fmt.Sprintf("ald-%05d", i%n%40_000), 20)
				return err
			},
			"search-prefix": func(int) error { _, err := s.Search(b.Context(), "ald-0", 20); return err },
			"search-common": func(int) error { _, err := s.Search(b.Context(), "yard creeps stall", 20); return err },
			"search-two":    func(i int) error { _, err := s.Search(b.Context(), fmt.Sprintf("%d yard", i%2000), 20); return err },
			"list":          func(int) error { _, err := s.Jobs(b.Context(), 0, 50); return err },
		} {
			b.Run(name, func(b *testing.B) {
				for i := range b.N {
					must(b, read(i*7919))
				}
			})
		}
		begin = time.Now()
		r, err := s.Verify(b.Context())
		must(b, err)
		must(b, r.Err())
		fmt.Fprintf(os.Stderr, "%d jobs, %d entries verified in %v\n", r.Jobs, r.Entries, time.Since(begin).Round(time.Millisecond))
	})
}

// BenchmarkPhoto keeps and reads a picture of 300 kB: in the database, and in a file that is written as safely (a temporary name, fsync,
// rename, fsync of the folder).
func BenchmarkPhoto(b *testing.B) {
	picture := func(i int) []byte {
		data := make([]byte, 300<<10)
		for k := range data {
			data[k] = byte(k*i + k>>8)
		}
		copy(data, fmt.Sprint(i, time.Now().UnixNano()))
		return data
	}
	engines(b, func(b *testing.B, s *Store) {
		var hashes []record.Digest
		b.Run("put", func(b *testing.B) {
			for i := range b.N {
				data := picture(i)
				h, err := s.PutPhoto(b.Context(), Photo{Data: data, Thumb: data[:8<<10]})
				must(b, err)
				hashes = append(hashes, h)
			}
		})
		b.Run("get", func(b *testing.B) {
			for i := range b.N {
				_, err := s.GetPhoto(b.Context(), hashes[i%len(hashes)], false)
				must(b, err)
			}
		})
	})
	dir := b.TempDir()
	b.Run("folder/put", func(b *testing.B) {
		for i := range b.N {
			f, err := os.CreateTemp(dir, "part")
			must(b, err)
			_, err = f.Write(picture(i))
			must(b, err)
			must(b, f.Sync())
			must(b, f.Close())
			must(b, os.Rename(f.Name(), filepath.Join(dir, fmt.Sprint(i))))
			must(b, syncFolder(dir))
		}
	})
	b.Run("folder/get", func(b *testing.B) {
		for range b.N {
			_, err := os.ReadFile(filepath.Join(dir, "0"))
			must(b, err)
		}
	})
}

// BenchmarkBackup copies a shop of 1,000 jobs, or EVENSTROKE_JOBS, and verifies the copy.
func BenchmarkBackup(b *testing.B) {
	engines(b, func(b *testing.B, s *Store) {
		must(b, s.Bulk(b.Context(), sizes(b), demoJob))
		dir := b.TempDir()
		b.ResetTimer()
		for i := range b.N {
			must(b, s.Backup(b.Context(), filepath.Join(dir, fmt.Sprint(i))))
		}
	})
}
