package report

import (
	"bytes"
	"encoding/base64"
	"encoding/binary"
	"html/template"
	"image"
	"image/color"
	"image/jpeg"
	"strconv"
)

// Bounds of a photograph that is taken into a report.
const (
	photoBytes  = 24 << 20
	photoPixels = 60_000_000
)

// photoView is a photograph ready for a page: checked, in RGB or grey, without what the camera wrote beside it (place, owner),
// save how it was held.
type photoView struct {
	Caption, By string
	Src         template.URL
	jpeg        []byte
	w, h        int // as stored
	turn        int // EXIF orientation, 1 to 8
}

func newPhotos(photos []Photo, w Words) ([]photoView, error) {
	var out []photoView
	for i, p := range photos {
		v := photoView{Caption: p.Caption, By: joinPresent(", ", p.Who, p.When)}
		if v.Caption == "" {
			v.Caption = w.t("photos.none")
		}
		if err := v.read(p.JPEG); err != nil {
			return nil, &DocumentError{"Photos", "photo " + strconv.Itoa(i+1) + ": " + err.Error() + "; expected a JPEG picture"}
		}
		v.Src = template.URL("data:image/jpeg;base64," + base64.StdEncoding.EncodeToString(v.jpeg))
		out = append(out, v)
	}
	return out, nil
}

// read checks the picture and takes out what does not belong on paper. A picture in CMYK, for which PDF/A needs another colour
// profile, is written anew in RGB.
func (v *photoView) read(data []byte) error {
	if len(data) > photoBytes {
		return &DocumentError{"JPEG", "larger than 24 MB"}
	}
	cfg, err := jpeg.DecodeConfig(bytes.NewReader(data))
	if err != nil {
		return err
	}
	if cfg.Width == 0 || cfg.Height == 0 || cfg.Width*cfg.Height > photoPixels {
		return &DocumentError{"JPEG", "has no points or more than 60 million"}
	}
	v.w, v.h = cfg.Width, cfg.Height
	stripped, turn := stripJPEG(data)
	v.turn = turn
	if cfg.ColorModel == color.CMYKModel {
		if stripped, err = toRGB(data); err != nil {
			return err
		}
	}
	v.jpeg = withTurn(stripped, turn)
	return nil
}

func toRGB(data []byte) ([]byte, error) {
	img, err := jpeg.Decode(bytes.NewReader(data))
	if err != nil {
		return nil, err
	}
	rgb := image.NewRGBA(img.Bounds())
	for y := rgb.Rect.Min.Y; y < rgb.Rect.Max.Y; y++ {
		for x := rgb.Rect.Min.X; x < rgb.Rect.Max.X; x++ {
			rgb.Set(x, y, img.At(x, y))
		}
	}
	var b bytes.Buffer
	err = jpeg.Encode(&b, rgb, &jpeg.Options{Quality: 88})
	return b.Bytes(), err
}

// stripJPEG copies a JPEG file without its APP1 to APP15 and comment segments (save Adobe's APP14, which says how the colours are
// written) and returns the EXIF orientation, 1 when there is none. Source: ITU-T T.81, annex B.
func stripJPEG(data []byte) ([]byte, int) {
	turn := 1
	out := append([]byte(nil), data[:min(2, len(data))]...)
	for i := 2; i+4 <= len(data); {
		if data[i] != 0xFF { // between segments: readers pass over it
			i++
			continue
		}
		marker := data[i+1]
		if marker == 0 { // no marker (section B.1.1.2), and no length behind it
			i += 2
			continue
		}
		if marker == 0xFF { // fill byte
			i++
			continue
		}
		if marker == 0xDA { // start of scan: the rest is the picture
			return append(out, data[i:]...), turn
		}
		n := 2 + int(binary.BigEndian.Uint16(data[i+2:]))
		if marker >= 0xD0 && marker <= 0xD9 || marker == 0x01 { // markers without length
			n = 2
		}
		end := min(i+n, len(data))
		switch {
		case marker == 0xE1:
			if t := orientation(data[min(i+4, end):end]); t != 0 {
				turn = t
			}
		case marker == 0xFE, marker > 0xE1 && marker <= 0xEF && marker != 0xEE:
		default:
			out = append(out, data[i:end]...)
		}
		i = end
	}
	return out, turn
}

// orientation reads tag 0x0112 of the first directory of an EXIF segment; 0 when there is none. Source: CIPA DC-008 (Exif 2.32), 4.6.4.
func orientation(seg []byte) int {
	if len(seg) < 14 || string(seg[:6]) != "Exif\x00\x00" {
		return 0
	}
	t := seg[6:]
	var order binary.ByteOrder = binary.BigEndian
	if string(t[:2]) == "II" {
		order = binary.LittleEndian
	}
	at := int64(order.Uint32(t[4:]))
	if at+2 > int64(len(t)) {
		return 0
	}
	for n, k := int64(order.Uint16(t[at:])), int64(0); k < n; k++ {
		e := at + 2 + 12*k
		if e+12 > int64(len(t)) {
			return 0
		}
		if order.Uint16(t[e:]) == 0x0112 {
			if v := int(order.Uint16(t[e+8:])); v >= 1 && v <= 8 {
				return v
			}
			return 0
		}
	}
	return 0
}

// withTurn puts an EXIF segment that holds nothing but the orientation at the head of a stripped file.
func withTurn(data []byte, turn int) []byte {
	if turn == 1 || len(data) < 2 {
		return data
	}
	exif := []byte{0xFF, 0xE1, 0, 34, 'E', 'x', 'i', 'f', 0, 0, 'M', 'M', 0, 42, 0, 0, 0, 8, 0, 1, 0x01, 0x12, 0, 3, 0, 0, 0, 1, 0, byte(turn), 0, 0, 0, 0, 0, 0}
	out := append([]byte(nil), data[:2]...)
	return append(append(out, exif...), data[2:]...)
}

// size is the size of the picture as it is to be looked at.
func (v *photoView) size() (w, h float64) {
	if v.turn >= 5 {
		return float64(v.h), float64(v.w)
	}
	return float64(v.w), float64(v.h)
}

// joinPresent joins what is not empty.
func joinPresent(sep string, parts ...string) string {
	out := ""
	for _, p := range parts {
		if p == "" {
			continue
		}
		if out != "" {
			out += sep
		}
		out += p
	}
	return out
}
