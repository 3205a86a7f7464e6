package picture

import (
	"bytes"
	"encoding/base64"
	"encoding/binary"
	"errors"
	"fmt"
	"image"
	"image/color"
	"image/gif"
	"image/jpeg"
	"io"
	"os"
	"path/filepath"
	"runtime"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/evenstroke/evenstroke/internal/record"
)

// What is to be seen at top left, top right, bottom left, bottom right of a picture stored with red, green, blue, yellow there. After the
// table of Exif (CIPA DC-008 section 4.6.4, from memory): "6: the 0th row is at the visual right-hand side, the 0th column is
// the visual top" and so on.
var seen = map[int][4]color.RGBA{
	1: {red, green, blue, yellow},
	2: {green, red, yellow, blue},
	3: {yellow, blue, green, red},
	4: {blue, yellow, red, green},
	5: {red, blue, green, yellow},
	6: {blue, red, yellow, green},
	7: {yellow, green, blue, red},
	8: {green, yellow, red, blue},
}

func TestOrientation(t *testing.T) {
	file := jpegOf(t, quarters(160, 96))
	for _, order := range []binary.ByteOrder{binary.LittleEndian, binary.BigEndian} {
		for o := 1; o <= 8; o++ {
			p, err := Read(bytes.NewReader(segment(file, 0xe1, exif(order, uint16(o)))), 0)
			if err != nil {
				t.Fatal(err)
			}
			w, h := 160, 96
			if o >= 5 {
				w, h = h, w
			}
			if p.Width != w || p.Height != h {
				t.Errorf("orientation %d: %d × %d, want %d × %d", o, p.Width, p.Height, w, h)
			}
			for _, data := range [][]byte{p.Data, p.Thumb} {
				m := decoded(t, data)
				for i, at := range [][2]float64{{.25, .25}, {.75, .25}, {.25, .75}, {.75, .75}} {
					if !near(m, at[0], at[1], seen[o][i]) {
						t.Errorf("orientation %d (%v): corner %d is %v, want %v", o, order, i, m.At(int(at[0]*float64(w)), int(at[1]*float64(h))), seen[o][i])
					}
				}
			}
		}
	}
}

func TestNothingOfTheFileStays(t *testing.T) {
	file := jpegOf(t, quarters(200, 100))
	file = segment(file, 0xe1, exif(binary.BigEndian, 1))
	file = segment(file, 0xe1, []byte("http://example.com/xmp/\x00<x:xmpmeta>SECRETX</x:xmpmeta>"))
	file = segment(file, 0xed, []byte("An editor\x00SECRETP"))
	file = segment(file, 0xfe, []byte("<script>SECRETJ</script>"))
	file = append(file, []byte("PK\x03\x04SECRETZ<html>")...)
	p, err := Read(bytes.NewReader(file), 0)
	if err != nil {
		t.Fatal(err)
	}
	for _, data := range [][]byte{p.Data, p.Thumb} {
		if bytes.Contains(data, []byte("SECRET")) || bytes.Contains(data, []byte("Exif")) || bytes.Contains(data, []byte("<")) && bytes.Contains(data, []byte("script")) {
			t.Error("something of the file stayed")
		}
		if markers := segments(t, data); strings.Trim(markers, "dbc04a ") != "" {
			t.Errorf("segments %s: want tables, frame and scan only", markers)
		}
	}
}

// segments lists the markers of a JPEG up to its scan.
func segments(t *testing.T, data []byte) string {
	t.Helper()
	var out []string
	for p := data[2:]; ; {
		if len(p) < 4 || p[0] != 0xff {
			t.Fatal("no JPEG")
		}
		out = append(out, fmt.Sprintf("%x", p[1]))
		if p[1] == 0xda {
			return strings.Join(out, " ")
		}
		p = p[2+int(binary.BigEndian.Uint16(p[2:])):]
	}
}

func TestSizes(t *testing.T) {
	for _, c := range []struct{ w, h, W, H, tw, th int }{
		{4000, 3000, 2048, 1536, 320, 240},
		{3000, 4000, 1536, 2048, 240, 320},
		{2048, 1000, 2048, 1000, 320, 156},
		{2049, 10, 2048, 10, 320, 2},
		{100, 60, 100, 60, 100, 60},
		{1, 1, 1, 1, 1, 1},
		{20000, 3, 2048, 1, 320, 1},
		{2500, 2500, 2048, 2048, 320, 320},
	} {
		p, err := Read(bytes.NewReader(pngOf(t, quarters(c.w, c.h))), 0)
		if err != nil {
			t.Fatalf("%d × %d: %v", c.w, c.h, err)
		}
		m, s := decoded(t, p.Data).Bounds(), decoded(t, p.Thumb).Bounds()
		if p.Width != c.W || p.Height != c.H || m.Dx() != c.W || m.Dy() != c.H || s.Dx() != c.tw || s.Dy() != c.th {
			t.Errorf("%d × %d became %v (said %d × %d) and %v", c.w, c.h, m, p.Width, p.Height, s)
		}
	}
}

// A fine pattern that is shrunk is its mean, not a coarse pattern of its own: sampling theory, a limit case.
func TestShrinkTakesTheMean(t *testing.T) {
	m := image.NewRGBA(image.Rect(0, 0, 4096, 4096))
	for y := range 4096 {
		for x := range 4096 {
			v := uint8(255 * ((x + y) & 1))
			m.SetRGBA(x, y, color.RGBA{v, v, v, 255})
		}
	}
	out := shrink(m, 320)
	for i := 0; i < len(out.Pix); i += 4 {
		if v := int(out.Pix[i]); v < 125 || v > 130 {
			t.Fatalf("pixel %d is %d, want the mean of 0 and 255", i/4, v)
		}
	}
}

func TestKinds(t *testing.T) {
	q := quarters(120, 80)
	var g bytes.Buffer
	frame := func(c color.Color) *image.Paletted {
		p := image.NewPaletted(q.Rect, color.Palette{color.White, c})
		for i := range p.Pix {
			p.Pix[i] = 1
		}
		return p
	}
	if err := gif.EncodeAll(&g, &gif.GIF{Image: []*image.Paletted{frame(green), frame(red)}, Delay: []int{1, 1}}); err != nil {
		t.Fatal(err)
	}
	p, err := Read(&g, 0)
	if err != nil || !near(decoded(t, p.Data), .5, .5, green) {
		t.Errorf("GIF: %v, want its first frame, green", err)
	}
	clear := image.NewNRGBA(image.Rect(0, 0, 50, 50))
	p, err = Read(bytes.NewReader(pngOf(t, clear)), 0)
	if err != nil || !near(decoded(t, p.Data), .5, .5, color.RGBA{255, 255, 255, 255}) {
		t.Errorf("transparent PNG: %v, want white", err)
	}
	deep := image.NewRGBA64(image.Rect(0, 0, 60, 40))
	gray := image.NewGray(image.Rect(0, 0, 60, 40))
	for name, m := range map[string]image.Image{"16 bit": deep, "gray": gray} {
		if p, err = Read(bytes.NewReader(pngOf(t, m)), 0); err != nil || p.Width != 60 {
			t.Errorf("%s: %v", name, err)
		}
	}
	web, err := base64.StdEncoding.DecodeString(webp)
	if err != nil {
		t.Fatal(err)
	}
	p, err = Read(bytes.NewReader(web), 0)
	if err != nil || p.Width != 1 || p.Height != 1 {
		t.Errorf("WebP: %d × %d, %v", p.Width, p.Height, err)
	}
}

// webp is a lossy WebP of one pixel (RFC 9649 section 2.5: RIFF, WEBP, VP8), as web pages use it to find out whether a browser reads the kind.
const webp = "UklGRiQAAABXRUJQVlA4IBgAAAAwAQCdASoBAAEAAwA0JaQAA3AA/vuUAAA="

// The files of testdata were made with the encoders of another program, from the four colours at 96 × 64: its encoders are the
// independent side.
func TestFilesOfAnotherProgram(t *testing.T) {
	for name, coloured := range map[string]bool{"progressive.jpg": true, "cmyk.jpg": true, "gray.jpg": false, "lossless.webp": true, "lossy.webp": true, "interlaced.png": true, "quarters.gif": true} {
		data, err := os.ReadFile(filepath.Join("testdata", name))
		if err != nil {
			t.Fatal(err)
		}
		p, err := Read(bytes.NewReader(data), 0)
		if err != nil || p.Width != 96 || p.Height != 64 {
			t.Errorf("%s: %d × %d, %v", name, p.Width, p.Height, err)
			continue
		}
		m := decoded(t, p.Data)
		if coloured && !(near(m, .25, .25, red) && near(m, .75, .25, green) && near(m, .25, .75, blue) && near(m, .75, .75, yellow)) {
			t.Errorf("%s: %v %v", name, m.At(24, 16), m.At(72, 48))
		}
		for _, n := range []int{len(data) / 3, len(data) * 2 / 3} {
			if _, err := Read(bytes.NewReader(data[:n]), 0); record.CodeOf(err) != record.Invalid {
				t.Errorf("%s, %d of %d bytes: %v", name, n, len(data), err)
			}
		}
	}
	data, err := os.ReadFile("testdata/progressive.jpg")
	if err != nil || !look(data).progressive {
		t.Errorf("a progressive JPEG is not seen as one: %v", err)
	}
}

func fault(t *testing.T, name string, data []byte, code record.Code, found string) {
	t.Helper()
	p, err := Read(bytes.NewReader(data), 0)
	var f *record.Fault
	if !errors.As(err, &f) || f.Code != code || !strings.Contains(f.Found, found) || f.Mend == "" && code != record.TooMany {
		t.Errorf("%s: %v, want %s, %q", name, err, code, found)
	}
	if p.Data != nil || p.Thumb != nil {
		t.Errorf("%s: a picture beside an error", name)
	}
}

func TestRefused(t *testing.T) {
	file, small := jpegOf(t, noisy(640, 480)), pngOf(t, quarters(64, 64))
	box := func(brand string) []byte { return append([]byte("\x00\x00\x00\x20ftyp"+brand), make([]byte, 40)...) }
	for name, c := range map[string]struct {
		data  []byte
		code  record.Code
		found string
	}{
		"empty":             {nil, record.Invalid, "an empty file"},
		"text":              {[]byte("hello"), record.Invalid, "no picture"},
		"HEIC":              {box("heic"), record.Invalid, "a HEIC picture"},
		"HEIC, mif1":        {box("mif1"), record.Invalid, "a HEIC picture"},
		"AVIF":              {box("avif"), record.Invalid, "an AVIF picture"},
		"video":             {box("isom"), record.Invalid, "a video"},
		"TIFF":              {[]byte("II*\x00aaaaaaaa"), record.Invalid, "TIFF"},
		"SVG":               {[]byte("\n <svg xmlns='http://www.w3.org/2000/svg' onload='x()'/>"), record.Invalid, "SVG"},
		"PDF":               {[]byte("%PDF-1.7"), record.Invalid, "PDF"},
		"ZIP":               {[]byte("PK\x03\x04...."), record.Invalid, "ZIP"},
		"JPEG, start only":  {file[:3], record.Invalid, "damaged"},
		"JPEG, half":        {file[:len(file)/2], record.Invalid, "damaged"},
		"JPEG, no end":      {file[:len(file)-200], record.Invalid, "damaged"},
		"PNG, half":         {small[:len(small)/2], record.Invalid, "damaged"},
		"PNG, wrong sum":    {bytes.Replace(small, []byte("IDAT"), []byte("IDAU"), 1), record.Invalid, "damaged"},
		"PNG, huge":         {pngHeader(100_000, 100_000), record.TooLarge, "100000 × 100000"},
		"PNG, a bit large":  {pngHeader(10_000, 5_001), record.TooLarge, "10000 × 5001"},
		"PNG, no pixels":    {pngHeader(0, 10), record.Invalid, "damaged"},
		"PNG, negative":     {pngHeader(0xffffffff, 1), record.Invalid, "damaged"},
		"GIF, huge":         {[]byte("GIF89a\xff\xff\xff\xff\x00\x00\x00;"), record.TooLarge, "65535 × 65535"},
		"WebP, huge":        {append([]byte("RIFF\x16\x00\x00\x00WEBPVP8X\x0a\x00\x00\x00\x00\x00\x00\x00"), 0x0f, 0x27, 0, 0x0f, 0x27, 0), record.TooLarge, "10000 × 10000"},
		"WebP, half":        {[]byte("RIFF\x16\x00\x00\x00WEBPVP8 "), record.Invalid, "damaged"},
		"JPEG that is text": {[]byte("\xff\xd8\xff<script>alert(1)</script>"), record.Invalid, "damaged"},
	} {
		fault(t, name, c.data, c.code, c.found)
	}
}

// endless gives zeros for ever after a start, and counts what was taken.
type endless struct {
	start []byte
	taken int64
	most  int64
}

func (e *endless) Read(p []byte) (int, error) {
	if e.taken >= e.most {
		return 0, io.EOF
	}
	n := copy(p, e.start)
	e.start = e.start[n:]
	if n == 0 {
		clear(p)
		n = len(p)
	}
	e.taken += int64(n)
	return n, nil
}

func TestUploadOf200MB(t *testing.T) {
	var before, after runtime.MemStats
	runtime.ReadMemStats(&before)
	in := &endless{start: jpegOf(t, quarters(64, 64)), most: 200 << 20}
	_, err := Read(in, 0)
	runtime.ReadMemStats(&after)
	if record.CodeOf(err) != record.TooLarge {
		t.Errorf("error %v, want too large", err)
	}
	if in.taken > MaxBytes+64<<10 {
		t.Errorf("%d bytes were taken of an upload that is refused at %d", in.taken, MaxBytes)
	}
	if all := after.TotalAlloc - before.TotalAlloc; all > 6*MaxBytes {
		t.Errorf("%d MB allocated", all>>20)
	}
	if _, err := Read(&endless{start: []byte("\xff\xd8\xff"), most: 2000}, 1000); record.CodeOf(err) != record.TooLarge {
		t.Errorf("error %v with a limit of 1000 bytes", err)
	}
	if _, err := Read(io.MultiReader(strings.NewReader("\xff\xd8\xff"), errReader{}), 0); record.CodeOf(err) != record.Invalid {
		t.Errorf("error %v of an upload that breaks off", err)
	}
}

type errReader struct{}

func (errReader) Read([]byte) (int, error) { return 0, io.ErrUnexpectedEOF }

// A small file that says it is a large picture must not take the memory of one before it is looked at.
func TestBombTakesNoMemory(t *testing.T) {
	for name, data := range map[string][]byte{"PNG": pngHeader(60_000, 60_000), "GIF": []byte("GIF89a\xff\xff\xff\xff\x00\x00\x00,\x00\x00\x00\x00\xff\xff\xff\xff\x00\x02")} {
		var before, after runtime.MemStats
		runtime.ReadMemStats(&before)
		fault(t, name, data, record.TooLarge, "×")
		runtime.ReadMemStats(&after)
		if all := after.TotalAlloc - before.TotalAlloc; all > 1<<20 {
			t.Errorf("%s: %d kB allocated", name, all>>10)
		}
	}
}

// Five photos of 12 MP at once stay within the memory that room allows, with what stands around it, and each takes of that room what it needs: 4 bytes a
// pixel and more.
func TestManyAtOnce(t *testing.T) {
	file := jpegOf(t, noisy(4000, 3000))
	runtime.GC()
	var base runtime.MemStats
	runtime.ReadMemStats(&base)
	const least = 4 * 12_000_000
	stop, peak, taken := make(chan struct{}), make(chan uint64), false
	go func() {
		var most uint64
		for {
			select {
			case <-stop:
				peak <- most
				return
			case <-time.After(5 * time.Millisecond):
				var m runtime.MemStats
				runtime.ReadMemStats(&m)
				most = max(most, m.HeapAlloc)
				if decoding.TryAcquire(room - least) {
					decoding.Release(room - least)
				} else {
					taken = true
				}
			}
		}
	}()
	var wg sync.WaitGroup
	for range 5 {
		wg.Go(func() {
			if _, err := Read(bytes.NewReader(file), 0); err != nil {
				t.Error(err)
			}
		})
	}
	wg.Wait()
	close(stop)
	most := <-peak
	t.Logf("5 photos of %.1f MB at once: at most %d MB on the heap", float64(len(file))/1e6, (most-min(most, base.HeapAlloc))>>20)
	if !taken {
		t.Errorf("nobody took %d bytes of the room", least)
	}
	if most > base.HeapAlloc+2*room {
		t.Errorf("%d MB on the heap", most>>20)
	}
}

// A photo of 12 MP takes 0.6 to 0.9 s on a machine of 2026 with two cores. A busy one takes longer for everything: what is tested is that
// all of it takes less than four times what decoding alone takes, the best of three; not with the race detector, which slows one more than the other.
func TestPhotoOf12MPInTime(t *testing.T) {
	file := segment(jpegOf(t, noisy(4000, 3000)), 0xe1, exif(binary.BigEndian, 6))
	all, alone, rounds := time.Hour, time.Hour, 3
	if raceOn {
		rounds = 1
	}
	for range rounds {
		start := time.Now()
		p, err := Read(bytes.NewReader(file), 0)
		if err != nil || p.Width != 1536 || p.Height != 2048 {
			t.Fatalf("%d × %d, %v", p.Width, p.Height, err)
		}
		all = min(all, time.Since(start))
		start = time.Now()
		if _, err := jpeg.Decode(bytes.NewReader(file)); err != nil {
			t.Fatal(err)
		}
		alone = min(alone, time.Since(start))
	}
	t.Logf("%.1f MB: %v, of it decoding %v", float64(len(file))/1e6, all, alone)
	if all > 4*alone && !raceOn {
		t.Errorf("took %v, decoding alone %v", all, alone)
	}
}

func TestOddExif(t *testing.T) {
	good := exif(binary.BigEndian, 6)
	if got := look(segment([]byte{0xff, 0xd8}, 0xe1, good)).orientation; got != 6 {
		t.Fatalf("orientation %d, want 6", got)
	}
	change := func(at int, b ...byte) []byte {
		out := bytes.Clone(good)
		copy(out[6+at:], b)
		return out
	}
	for name, body := range map[string][]byte{
		"other order":          change(0, 'X', 'X'),
		"directory far away":   change(4, 0xff, 0xff, 0xff, 0xff),
		"directory at the end": change(4, 0, 0, 0, byte(len(good)-6-1)),
		"directory in header":  []byte("Exif\x00\x00MM\x00*\x00\x00\x00\x06\x01\x12\x00\x03\x00\x00\x00\x01\x00\x06\x00\x00"),
		"value 0":              change(10+12+8, 0, 0),
		"value 9":              change(10+12+8, 0, 9),
		"two values":           change(10+12+4, 0, 0, 0, 2),
		"another type":         change(10+12+2, 0, 4),
		"many entries":         append(change(8, 0xff, 0xff, 0xff), []byte("x")...)[:20],
		"cut":                  good[:14+12],
		"nothing":              good[:6],
	} {
		if got := look(segment([]byte{0xff, 0xd8}, 0xe1, body)).orientation; got != 1 {
			t.Errorf("%s: orientation %d, want 1", name, got)
		}
	}
	for name, data := range map[string][]byte{"short segment": {0xff, 0xd8, 0xff, 0xe1, 0, 1}, "long segment": {0xff, 0xd8, 0xff, 0xe1, 0xff, 0xff, 1}, "fill": {0xff, 0xd8, 0xff, 0xff, 0xff, 0xff}} {
		if got := look(data); got.orientation != 1 || got.progressive {
			t.Errorf("%s: %+v", name, got)
		}
	}
	if !look(segment([]byte{0xff, 0xd8}, 0xc2, make([]byte, 15))).progressive {
		t.Error("a progressive frame is not seen")
	}
}

func FuzzRead(f *testing.F) {
	small := quarters(16, 12)
	j := jpegOf(f, small)
	f.Add(j)
	f.Add(segment(j, 0xe1, exif(binary.LittleEndian, 5)))
	f.Add(pngOf(f, small))
	f.Add(pngHeader(50, 50))
	web, err := base64.StdEncoding.DecodeString(webp)
	if err != nil {
		f.Fatal(err)
	}
	f.Add(web)
	f.Add([]byte("GIF89a\x02\x00\x02\x00\x80\x00\x00\xff\xff\xff\x00\x00\x00,\x00\x00\x00\x00\x02\x00\x02\x00\x00\x02\x02D\n\x00;"))
	f.Fuzz(func(t *testing.T, data []byte) {
		if c, err := config(data); err == nil && c.Width*c.Height > 1<<20 {
			return // large pictures are slow, not different
		}
		p, err := Read(bytes.NewReader(data), 1<<20)
		if err != nil {
			var fault *record.Fault
			if !errors.As(err, &fault) {
				t.Fatalf("%v is no fault", err)
			}
			return
		}
		m, err := jpeg.Decode(bytes.NewReader(p.Data))
		if err != nil || m.Bounds().Dx() != p.Width || m.Bounds().Dy() != p.Height {
			t.Fatalf("what is kept: %v", err)
		}
		if _, err := jpeg.Decode(bytes.NewReader(p.Thumb)); err != nil {
			t.Fatal(err)
		}
	})
}

func FuzzExif(f *testing.F) {
	f.Add(exif(binary.BigEndian, 6)[6:])
	f.Add(exif(binary.LittleEndian, 8)[6:])
	f.Fuzz(func(t *testing.T, tiff []byte) {
		if o := orientation(tiff); o < 1 || o > 8 {
			t.Fatalf("orientation %d", o)
		}
		look(append([]byte{0xff, 0xd8}, tiff...))
	})
}

func BenchmarkPhoto12MP(b *testing.B) {
	file := jpegOf(b, noisy(4000, 3000))
	b.ReportAllocs()
	for b.Loop() {
		if _, err := Read(bytes.NewReader(file), 0); err != nil {
			b.Fatal(err)
		}
	}
}
