package picture

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"image"
	"image/color"
	_ "image/gif" // registers the decoder
	"image/jpeg"
	_ "image/png" // registers the decoder
	"io"
	"runtime/debug"
	"time"

	_ "golang.org/x/image/webp" // registers the decoder
	"golang.org/x/sync/semaphore"

	"github.com/evenstroke/evenstroke/internal/record"
)

// The limits. A photo of a phone is 3 to 12 MB and 12 to 50 MP.
const (
	MaxBytes  = 25 << 20
	MaxPixels = 50_000_000
	LongSide  = 2048 // of the picture that is kept, px
	ThumbSide = 320  // of the small one, px
)

const (
	quality      = 82
	thumbQuality = 75
)

// room is the memory for decoding at once, in bytes, and for one picture at most: the largest of 50 million pixels with four bytes each decodes
// alone. Waiting for it ends after waitMost.
const room = 272 << 20

// spare is what the pictures that are kept take besides, and large from how much on what a picture took is given back before the next begins: the
// garbage of several would be in memory at once.
const (
	spare = 16 << 20
	large = 64 << 20
)

const waitMost = 20 * time.Second

var decoding = semaphore.NewWeighted(room)

// Picture is a photo as it is kept: two JPEGs. Width and Height are those of Data.
type Picture struct {
	Data, Thumb   []byte
	Width, Height int
}

// Read reads an upload of at most limit bytes (0, or more than MaxBytes, is MaxBytes). Errors: *record.Fault of code TooLarge (bytes or
// pixels), Invalid (no picture, one of a kind that cannot be read, one that breaks off) or TooMany (no memory free for some
// time).
func Read(r io.Reader, limit int64) (Picture, error) {
	if limit <= 0 || limit > MaxBytes {
		limit = MaxBytes
	}
	var buf bytes.Buffer
	n, err := buf.ReadFrom(io.LimitReader(r, limit+1))
	if n > limit {
		return Picture{}, record.Faultf(record.TooLarge, "picture", fmt.Sprintf("more than %.1f MB", float64(limit)/1e6), fmt.Sprintf("at most %.1f MB", float64(limit)/1e6), "take it with fewer pixels")
	}
	if err != nil {
		return Picture{}, &record.Fault{Code: record.Invalid, Where: "picture", Found: "an upload that breaks off", Want: "a whole file", Mend: "send it again", Err: err}
	}
	data := buf.Bytes()
	if err := known(data); err != nil {
		return Picture{}, err
	}
	about := look(data)
	need, err := cost(data, about)
	if err != nil {
		return Picture{}, err
	}
	ctx, cancel := context.WithTimeout(context.Background(), waitMost)
	defer cancel()
	if err := decoding.Acquire(ctx, need); err != nil {
		return Picture{}, &record.Fault{Code: record.TooMany, Where: "picture", Found: "many others at the same time", Mend: "try again in a moment", Err: err}
	}
	defer decoding.Release(need)
	if need > large {
		defer debug.FreeOSMemory()
	}
	return convert(data, about.orientation)
}

func convert(data []byte, orientation int) (Picture, error) {
	m, err := decode(data)
	if err != nil {
		return Picture{}, err
	}
	return encode(m, orientation)
}

// cost checks the size that the header of a picture states, and gives the bytes that it takes to decode it and to make it smaller.
func cost(data []byte, about header) (int64, error) {
	c, err := config(data)
	if err != nil {
		return 0, broken(err)
	}
	if c.Width < 1 || c.Height < 1 {
		return 0, broken(errors.New("no pixels"))
	}
	pixels := int64(c.Width) * int64(c.Height)
	if pixels > MaxPixels {
		return 0, record.Faultf(record.TooLarge, "picture", fmt.Sprintf("%d × %d pixels", c.Width, c.Height), fmt.Sprintf("at most %d million pixels", MaxPixels/1_000_000), "take it with fewer pixels")
	}
	each := perPixel(data, c.ColorModel, about)
	need := int64(float64(pixels)*(each+1)) + spare // one more for the half of it (see shrink)
	if need > room {
		return 0, record.Faultf(record.TooLarge, "picture", fmt.Sprintf("%d × %d pixels that take %.0f bytes each", c.Width, c.Height, each),
			fmt.Sprintf("at most %d million pixels of this kind", int64((room-spare)/(each+1))/1_000_000), "save it with 8 bits a colour, or with fewer pixels")
	}
	return need, nil
}

// perPixel is how many bytes the decoders of Go allocate for a pixel at most: the picture itself; of a progressive JPEG each coefficient at 4 bytes; of an
// interlaced PNG the picture of each pass; of a lossless WebP a second buffer of the same size; of a JPEG in CMYK a copy.
func perPixel(data []byte, m color.Model, about header) float64 {
	each := 4.0
	switch m {
	case color.GrayModel:
		each = 1
	case color.Gray16Model:
		each = 2
	case color.RGBA64Model, color.NRGBA64Model:
		each = 8
	case color.YCbCrModel:
		each = 3
	case color.CMYKModel:
		each = 8
	}
	if _, ok := m.(color.Palette); ok {
		each = 1
	}
	switch {
	case about.samples > 0 && m != color.CMYKModel:
		each = about.samples
	case bytes.HasPrefix(data, []byte("\x89PNG")) && len(data) > interlaceAt && data[interlaceAt] != 0, bytes.HasPrefix(data, []byte("RIFF")) && m == color.NRGBAModel:
		each *= 2
	}
	if about.progressive {
		each += 4 * max(about.samples, 3)
	}
	return each
}

// interlaceAt is where the header of a PNG says whether it is interlaced (W3C PNG section 11.2.1, from memory: the last byte of IHDR).
const interlaceAt = 28

func config(data []byte) (c image.Config, err error) {
	defer caught(&err)
	c, _, err = image.DecodeConfig(bytes.NewReader(data))
	return c, err
}

func decode(data []byte) (m image.Image, err error) {
	defer func() {
		if err != nil {
			m, err = nil, broken(err)
		}
	}()
	defer caught(&err)
	m, _, err = image.Decode(bytes.NewReader(data))
	if err == nil && (m.Bounds().Empty() || int64(m.Bounds().Dx())*int64(m.Bounds().Dy()) > MaxPixels) {
		err = errors.New("another size than its header states")
	}
	return m, err
}

// caught makes an error of a decoder that panics: a file of a stranger must not end the request of the server.
func caught(err *error) {
	if p := recover(); p != nil {
		*err = fmt.Errorf("the decoder: %v", p)
	}
}

func broken(err error) *record.Fault {
	return &record.Fault{Code: record.Invalid, Where: "picture", Found: "a file that is damaged or breaks off", Want: "a whole JPEG, PNG or WebP", Mend: "send it again, or take it again", Err: err}
}

func encode(m image.Image, orientation int) (Picture, error) {
	large := turn(shrink(m, LongSide), orientation)
	data, err := toJPEG(large, quality)
	if err != nil {
		return Picture{}, err
	}
	thumb, err := toJPEG(shrink(large, ThumbSide), thumbQuality)
	return Picture{Data: data, Thumb: thumb, Width: large.Rect.Dx(), Height: large.Rect.Dy()}, err
}

func toJPEG(m *image.RGBA, quality int) ([]byte, error) {
	var buf bytes.Buffer
	if err := jpeg.Encode(&buf, m, &jpeg.Options{Quality: quality}); err != nil {
		return nil, fmt.Errorf("picture: %w", err)
	}
	return buf.Bytes(), nil
}
