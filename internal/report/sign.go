package report

import (
	"bytes"
	"encoding/base64"
	"html/template"
	"image/png"
	"math"
	"strconv"
	"strings"

	"github.com/piglig/go-qr"
)

// signatureView is a signature ready for a page.
type signatureView struct {
	Name, By, Alt string
	Src           template.URL // of the picture
	Path, Box     string       // of the outline
	Stroke        float64      // width of the stroke
	png           []byte
	segs          []segment
	box           [4]float64
}

func newSignature(s *Signature, w Words) (*signatureView, error) {
	if s == nil {
		return nil, nil
	}
	v := &signatureView{Name: s.Name, By: joinPresent(", ", s.Role, s.When), Alt: w.t("signature.alt", "name", s.Name)}
	if s.Name == "" {
		v.Alt = w.t("signature.altPlain")
	}
	if len(s.PNG) > 0 {
		cfg, err := png.DecodeConfig(bytes.NewReader(s.PNG))
		if err == nil && (cfg.Width == 0 || cfg.Height == 0 || cfg.Width*cfg.Height > 16_000_000) {
			err = &DocumentError{"PNG", "has no points or more than 16 million"}
		}
		if err == nil {
			_, err = png.Decode(bytes.NewReader(s.PNG))
		}
		if err != nil {
			return nil, &DocumentError{"Signature", err.Error() + "; expected a PNG picture"}
		}
		v.png, v.box = s.PNG, [4]float64{0, 0, float64(cfg.Width), float64(cfg.Height)}
		v.Src = template.URL("data:image/png;base64," + base64.StdEncoding.EncodeToString(s.PNG))
		return v, nil
	}
	if s.SVGPath == "" {
		return v, nil
	}
	segs, err := parsePath(s.SVGPath)
	if err != nil {
		return nil, &DocumentError{"Signature", err.Error()}
	}
	return v, v.outline(segs, s.ViewBox)
}

// outline sets the path of a signature and the plane that it lies in.
func (v *signatureView) outline(segs []segment, box [4]float64) error {
	x0, y0, x1, y1, ok := bounds(segs)
	if !ok {
		return nil
	}
	if box == [4]float64{} {
		pad := 0.02*math.Max(x1-x0, y1-y0) + 1
		box = [4]float64{x0 - pad, y0 - pad, x1 - x0 + 2*pad, y1 - y0 + 2*pad}
	}
	for _, b := range box {
		if !finite(b) || math.Abs(b) > 1e7 {
			return &DocumentError{"Signature", "found a view box that is not finite; expected min x, min y, width, height"}
		}
	}
	if box[2] <= 0 || box[3] <= 0 {
		return &DocumentError{"Signature", "found a view box without width or height; expected both above 0"}
	}
	v.segs, v.box, v.Path, v.Stroke = segs, box, pathData(segs), math.Max(box[2]/140, box[3]/60)
	parts := make([]string, 4)
	for i, b := range box {
		parts[i] = strconv.FormatFloat(math.Round(b*1000)/1000, 'f', -1, 64)
	}
	v.Box = strings.Join(parts, " ")
	return nil
}

// codeView is a QR code (ISO/IEC 18004) ready for a page.
type codeView struct {
	Path string // dark modules; one module is one unit
	Size int    // with the quiet zone of 4 modules all round
	Alt  string
	code *go_qr.QrCode
}

const quietZone = 4

func newCode(text string, w Words) (*codeView, error) {
	if text == "" {
		return nil, nil
	}
	code, err := go_qr.EncodeText(text, go_qr.Medium)
	if err != nil {
		return nil, &DocumentError{"QR", err.Error() + "; expected a text that fits a QR code"}
	}
	v := &codeView{Size: code.Size() + 2*quietZone, Alt: w.t("qr.alt", "text", text), code: code}
	var b strings.Builder
	v.bars(func(x, y, n int) {
		b.WriteString("M" + strconv.Itoa(x) + " " + strconv.Itoa(y) + "h" + strconv.Itoa(n) + "v1h-" + strconv.Itoa(n) + "z")
	})
	v.Path = b.String()
	return v, nil
}

// bars calls draw for every row of n dark modules side by side.
func (v *codeView) bars(draw func(x, y, n int)) {
	size := v.code.Size()
	for y := range size {
		for x := 0; x < size; x++ {
			n := 0
			for x+n < size && v.code.Module(x+n, y) {
				n++
			}
			if n > 0 {
				draw(x+quietZone, y+quietZone, n)
				x += n
			}
		}
	}
}
