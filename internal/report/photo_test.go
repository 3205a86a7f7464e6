package report

import (
	"bytes"
	"encoding/binary"
	"fmt"
	"image"
	"image/color"
	"image/jpeg"
	"image/png"
	"io"
	"os"
	"strings"
	"testing"

	folioimage "github.com/carlos7ags/folio/image"

	"github.com/evenstroke/evenstroke/internal/outside"
)

// quarters is a picture whose stored corners are red (row 0, column 0), green (row 0, last column), blue (last row, column 0), white.
func quarters() []byte {
	img := image.NewRGBA(image.Rect(0, 0, 64, 32))
	for y := range 32 {
		for x := range 64 {
			c := color.RGBA{255, 0, 0, 255}
			switch {
			case x >= 32 && y < 16:
				c = color.RGBA{0, 255, 0, 255}
			case x < 32 && y >= 16:
				c = color.RGBA{0, 0, 255, 255}
			case y >= 16:
				c = color.RGBA{255, 255, 255, 255}
			}
			img.SetRGBA(x, y, c)
		}
	}
	var b bytes.Buffer
	if err := jpeg.Encode(&b, img, &jpeg.Options{Quality: 95}); err != nil {
		panic(err)
	}
	return b.Bytes()
}

// withExif puts an EXIF segment with an orientation and a place into a JPEG file.
func withExif(data []byte, order binary.ByteOrder, turn uint16) []byte {
	t := make([]byte, 8, 64)
	copy(t, map[bool]string{true: "II", false: "MM"}[order == binary.ByteOrder(binary.LittleEndian)])
	order.PutUint16(t[2:], 42)
	order.PutUint32(t[4:], 8)
	entry := func(tag, typ uint16, n uint32, v uint16) {
		var e [12]byte
		order.PutUint16(e[0:], tag)
		order.PutUint16(e[2:], typ)
		order.PutUint32(e[4:], n)
		order.PutUint16(e[8:], v)
		t = append(t, e[:]...)
	}
	var n [2]byte
	order.PutUint16(n[:], 2)
	t = append(t, n[:]...)
	entry(0x010F, 2, 1, 0)
	entry(0x0112, 3, 1, turn)
	t = append(t, 0, 0, 0, 0)
	body := append([]byte("Exif\x00\x00"), append(t, "SECRETPLACE"...)...)
	seg := append([]byte{0xFF, 0xE1, byte((len(body) + 2) >> 8), byte(len(body) + 2)}, body...)
	seg = append(seg, 0xFF, 0xFE, 0, 9, 'C', 'O', 'M', 'M', 'E', 'N', 'T')
	return append(append(append([]byte(nil), data[:2]...), seg...), data[2:]...)
}

// TestTurned draws a picture in all eight orientations and looks at the colours of its corners on the printed page. Expected corners:
// Exif 2.32 (CIPA DC-008), 4.6.4 A, table of tag Orientation: where row 0 and column 0 of the stored picture are to be seen.
func TestTurned(t *testing.T) {
	ppm := outside.Program(t, "pdftoppm", "poppler-utils")
	rows := [9][2]string{1: {"top", "left"}, 2: {"top", "right"}, 3: {"bottom", "right"}, 4: {"bottom", "left"}, 5: {"left", "top"}, 6: {"right", "top"}, 7: {"right", "bottom"}, 8: {"left", "bottom"}}
	p, err := newPress(A4, nil)
	if err != nil {
		t.Fatal(err)
	}
	const side = 60.0
	for turn := 1; turn <= 8; turn++ {
		var v photoView
		if err := v.read(withExif(quarters(), []binary.ByteOrder{binary.BigEndian, binary.LittleEndian}[turn%2], uint16(turn))); err != nil {
			t.Fatal(err)
		}
		if v.turn != turn {
			t.Fatalf("orientation %d is read as %d", turn, v.turn)
		}
		w, h := v.size()
		if tall := h > w; tall != (turn >= 5) {
			t.Errorf("orientation %d: %g by %g", turn, w, h)
		}
		if bytes.Contains(v.jpeg, []byte("SECRETPLACE")) || bytes.Contains(v.jpeg, []byte("COMMENT")) {
			t.Error("what the camera wrote beside the picture is kept")
		}
		if _, again := stripJPEG(v.jpeg); again != turn {
			t.Errorf("orientation %d is kept as %d for the page", turn, again)
		}
		img, err := folioimage.NewJPEG(v.jpeg)
		if err != nil {
			t.Fatal(err)
		}
		x := 50 * float64(turn)
		p.add(&node{tag: "Figure", alt: "x", paint: func(q *pen) { q.image(img, v.turn, x, 100, 40, side) }})
	}
	pdf := file(t, func(w io.Writer) error { return p.write(w, info{title: "x", lang: "en"}) })
	root := strings.TrimSuffix(pdf, ".pdf")
	output(t, ppm, "-r", "72", "-singlefile", "-png", pdf, root)
	f, err := os.Open(root + ".png")
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	img, err := png.Decode(f)
	if err != nil {
		t.Fatal(err)
	}
	for turn := 1; turn <= 8; turn++ {
		corners(t, img, turn, rows[turn][0], rows[turn][1])
	}
}

// corners looks at the colours of a picture that stands in the place of its orientation.
func corners(t *testing.T, img image.Image, turn int, row, col string) {
	at := func(dir [2]string) string {
		x, y := 50*turn+20, 130
		for _, d := range dir {
			switch d {
			case "left":
				x -= 10
			case "right":
				x += 10
			case "top":
				y -= 15
			case "bottom":
				y += 15
			}
		}
		r, g, b, _ := img.At(x, y).RGBA()
		return fmt.Sprintf("%d%d%d", r>>15, g>>15, b>>15)
	}
	other := map[string]string{"top": "bottom", "bottom": "top", "left": "right", "right": "left"}
	for corner, want := range map[[2]string]string{{row, col}: "100", {row, other[col]}: "010", {other[row], col}: "001", {other[row], other[col]}: "111"} {
		if got := at(corner); got != want {
			t.Errorf("orientation %d, %v: colour %s, want %s", turn, corner, got, want)
		}
	}
}

// TestFourInks checks that a picture in four printing inks, which PDF/A-2 with an RGB output intent does not allow (ISO 19005-2, 6.2.4.3),
// is written anew in RGB, and that a grey one is left as it is. The file was made by another program: 16 by 16 points of red.
func TestFourInks(t *testing.T) {
	data, err := os.ReadFile("testdata/four-inks.jpg")
	if err != nil {
		t.Fatal(err)
	}
	var v photoView
	if err := v.read(data); err != nil {
		t.Fatal(err)
	}
	img, err := jpeg.Decode(bytes.NewReader(v.jpeg))
	if err != nil {
		t.Fatal(err)
	}
	if r, g, b, _ := img.At(8, 8).RGBA(); img.ColorModel() != color.YCbCrModel || r>>8 < 200 || g>>8 > 60 || b>>8 > 60 {
		t.Errorf("the picture is %v and %d %d %d", img.ColorModel(), r>>8, g>>8, b>>8)
	}
	var grey bytes.Buffer
	if err := jpeg.Encode(&grey, image.NewGray(image.Rect(0, 0, 8, 8)), nil); err != nil {
		t.Fatal(err)
	}
	if err := v.read(grey.Bytes()); err != nil || !bytes.Equal(v.jpeg, grey.Bytes()) {
		t.Errorf("a grey picture is changed, or refused: %v", err)
	}
}

func FuzzPhoto(f *testing.F) {
	f.Add(quarters())
	f.Add(withExif(quarters(), binary.LittleEndian, 6))
	f.Add([]byte{0xFF, 0xD8, 0xFF, 0xE1, 0, 8, 'E', 'x'})
	f.Add(append([]byte{0xFF, 0xD8, 0xFF, 0}, quarters()[2:]...))
	f.Add(append([]byte{0xFF, 0xD8, 7, 8, 9}, withExif(quarters(), binary.LittleEndian, 6)[2:]...))
	f.Fuzz(func(t *testing.T, data []byte) {
		var v photoView
		if err := v.read(data); err != nil {
			return
		}
		if v.turn < 1 || v.turn > 8 {
			t.Errorf("orientation %d", v.turn)
		}
		if _, err := jpeg.DecodeConfig(bytes.NewReader(v.jpeg)); err != nil {
			t.Errorf("the stripped picture cannot be read: %v", err)
		}
	})
}
