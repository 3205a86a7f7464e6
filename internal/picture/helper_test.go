package picture

import (
	"bytes"
	"encoding/binary"
	"hash/crc32"
	"image"
	"image/color"
	"image/jpeg"
	"image/png"
	"math/rand/v2"
	"testing"
)

// Four colours, one a quarter of the picture: where each is to be seen tells all about the orientation.
var (
	red    = color.RGBA{200, 30, 30, 255}
	green  = color.RGBA{30, 160, 30, 255}
	blue   = color.RGBA{30, 30, 200, 255}
	yellow = color.RGBA{210, 200, 30, 255}
)

// quarters is a picture with red top left, green top right, blue bottom left, yellow bottom right.
func quarters(w, h int) *image.RGBA {
	m := image.NewRGBA(image.Rect(0, 0, w, h))
	for y := range h {
		for x := range w {
			c := red
			switch {
			case x >= w/2 && y < h/2:
				c = green
			case x < w/2 && y >= h/2:
				c = blue
			case x >= w/2:
				c = yellow
			}
			m.SetRGBA(x, y, c)
		}
	}
	return m
}

// noisy is as hard to compress as a photo of a bench.
func noisy(w, h int) *image.RGBA {
	m := image.NewRGBA(image.Rect(0, 0, w, h))
	r := rand.New(rand.NewPCG(1, 2))
	for i := 0; i < len(m.Pix); i += 4 {
		v := uint8(r.Uint32()&15) + uint8(i>>12)
		m.Pix[i], m.Pix[i+1], m.Pix[i+2], m.Pix[i+3] = v, v+uint8(i>>9), v/2, 255
	}
	return m
}

func jpegOf(t testing.TB, m image.Image) []byte {
	t.Helper()
	var b bytes.Buffer
	if err := jpeg.Encode(&b, m, &jpeg.Options{Quality: 90}); err != nil {
		t.Fatal(err)
	}
	return b.Bytes()
}

func pngOf(t testing.TB, m image.Image) []byte {
	t.Helper()
	var b bytes.Buffer
	if err := (&png.Encoder{CompressionLevel: png.BestSpeed}).Encode(&b, m); err != nil {
		t.Fatal(err)
	}
	return b.Bytes()
}

// exif is an Exif segment with a camera's name, the orientation and a pointer to a directory of a place (GPS), as TIFF 6.0 lays it out.
func exif(order binary.ByteOrder, orientation uint16) []byte {
	var t bytes.Buffer
	if order == binary.LittleEndian {
		t.WriteString("II")
	} else {
		t.WriteString("MM")
	}
	put := func(v any) { _ = binary.Write(&t, order, v) } // bytes.Buffer takes all
	put(uint16(42))
	put(uint32(8))
	put(uint16(3))
	put([]uint16{0x010f, 2}) // Make, ASCII
	put([]uint32{8, 50})
	put([]uint16{0x0112, 3}) // Orientation, SHORT
	put(uint32(1))
	put([]uint16{orientation, 0})
	put([]uint16{0x8825, 4}) // GPS directory, LONG
	put([]uint32{1, 58})
	put(uint32(0))
	t.WriteString("SECRETC\x00")
	put(uint16(1))
	put([]uint16{0x0001, 2}) // GPSLatitudeRef
	put(uint32(2))
	t.WriteString("N\x00\x00\x00")
	put(uint32(0))
	return append([]byte("Exif\x00\x00"), t.Bytes()...)
}

// segment puts a segment behind the start of a JPEG.
func segment(file []byte, marker byte, body []byte) []byte {
	out := append([]byte{0xff, 0xd8, 0xff, marker}, binary.BigEndian.AppendUint16(nil, uint16(len(body)+2))...)
	return append(append(out, body...), file[2:]...)
}

// pngHeader is the start of a PNG that says it has so many pixels (PNG, W3C, section 11.2.1).
func pngHeader(w, h uint32) []byte {
	body := append([]byte("IHDR"), binary.BigEndian.AppendUint32(binary.BigEndian.AppendUint32(nil, w), h)...)
	body = append(body, 8, 6, 0, 0, 0)
	out := append([]byte("\x89PNG\r\n\x1a\n"), 0, 0, 0, 13)
	return binary.BigEndian.AppendUint32(append(out, body...), crc32.ChecksumIEEE(body))
}

func decoded(t testing.TB, data []byte) image.Image {
	t.Helper()
	m, err := jpeg.Decode(bytes.NewReader(data))
	if err != nil {
		t.Fatal(err)
	}
	return m
}

// near says whether the colour in the middle of a quarter of a picture is the one expected, as far as JPEG keeps it.
func near(m image.Image, fx, fy float64, want color.RGBA) bool {
	b := m.Bounds()
	r, g, bl, _ := m.At(b.Min.X+int(fx*float64(b.Dx())), b.Min.Y+int(fy*float64(b.Dy()))).RGBA()
	off := func(a uint32, b uint8) bool { d := int(a>>8) - int(b); return d > 12 || d < -12 }
	return !off(r, want.R) && !off(g, want.G) && !off(bl, want.B)
}
