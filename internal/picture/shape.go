package picture

import (
	"image"
	"image/color"

	"golang.org/x/image/draw"
)

// shrink draws a picture on white, its long side at most so many pixels; a smaller one keeps its size. It is halved as often as it can be (the
// mean of four pixels each) and then interpolated: as good as a wide filter for a photo, and without the memory that one takes.
func shrink(m image.Image, side int) *image.RGBA {
	b := m.Bounds()
	w, h := fit(b.Dx(), b.Dy(), side)
	for b.Dx() >= 2*w && b.Dy() >= 2*h {
		half := onWhite(b.Dx()/2, b.Dy()/2, m)
		m, b = half, half.Rect
	}
	return onWhite(w, h, m)
}

// fit is the size within a square of a side, with the proportions kept as well as whole pixels can.
func fit(w, h, side int) (int, int) {
	long := max(w, h)
	if long <= side {
		return w, h
	}
	scale := func(v int) int { return max(1, (v*side+long/2)/long) }
	return scale(w), scale(h)
}

func onWhite(w, h int, m image.Image) *image.RGBA {
	out := image.NewRGBA(image.Rect(0, 0, w, h))
	draw.Draw(out, out.Rect, image.NewUniform(color.White), image.Point{}, draw.Src)
	if m.Bounds().Dx() == w && m.Bounds().Dy() == h {
		draw.Draw(out, out.Rect, m, m.Bounds().Min, draw.Over)
		return out
	}
	draw.ApproxBiLinear.Scale(out, out.Rect, m, m.Bounds(), draw.Over, nil)
	return out
}

// turn brings a picture upright. The orientation says where the first row and the first column of the pixels are to be seen (Exif,
// CIPA DC-008 section 4.6.4, from memory): 1 top and left, 2 top and right, 3 bottom and right, 4 bottom and left, 5 left and top, 6 right
// and top, 7 right and bottom, 8 left and bottom.
func turn(m *image.RGBA, orientation int) *image.RGBA {
	w, h := m.Rect.Dx(), m.Rect.Dy()
	if orientation < 2 || orientation > 8 {
		return m
	}
	out := image.NewRGBA(image.Rect(0, 0, w, h))
	if orientation >= 5 {
		out = image.NewRGBA(image.Rect(0, 0, h, w))
	}
	for y := range h {
		for x := range w {
			p := place(x, y, w, h, orientation)
			copy(out.Pix[out.PixOffset(p.X, p.Y):][:4], m.Pix[m.PixOffset(x, y):][:4])
		}
	}
	return out
}

// place is where the pixel of column x and row y of w × h pixels goes.
func place(x, y, w, h, orientation int) image.Point {
	switch orientation {
	case 2:
		return image.Pt(w-1-x, y)
	case 3:
		return image.Pt(w-1-x, h-1-y)
	case 4:
		return image.Pt(x, h-1-y)
	case 5:
		return image.Pt(y, x)
	case 6:
		return image.Pt(h-1-y, x)
	case 7:
		return image.Pt(h-1-y, w-1-x)
	case 8:
		return image.Pt(y, w-1-x)
	}
	return image.Pt(x, y)
}
