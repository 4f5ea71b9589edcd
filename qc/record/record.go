package record

import (
	"bufio"
	"bytes"
	"cmp"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"math"
	"slices"
	"strings"
	"time"

	"nightpair/metrics"
	"nightpair/metrics/coarse"
	"nightpair/metrics/depth"
	"nightpair/metrics/geometry"
	"nightpair/metrics/light"
	"nightpair/metrics/picture"
	"nightpair/metrics/stat"
)

// Record is everything that was measured on one clip. It is stored as JSON
// lines: the Header, a line for each Moment in the order of measuring, one for each
// EveryFrame, and the Trailer, without which the record does not count.
type Record struct {
	Header  Header
	Moments []Moment // in ascending order of frames
	// Every is how the eyes differ in each frame, coarsely; nil where the frames were not
	// looked at one by one.
	Every   *coarse.Series
	Trailer Trailer
}

// EveryFrame is how the eyes differ in some consecutive frames; those of the next line follow.
type EveryFrame struct {
	Every coarse.Series `json:"every"`
}

// Header opens a record.
type Header struct {
	// Early says that the pictures have not been looked at yet: another header
	// follows, unless measuring dies over them.
	Early bool `json:"early,omitempty"`
	// Fingerprint covers what the figures depend on: paths, sizes and
	// modification times of the files, the plan, what the user said of the rig,
	// and the revisions of the metrics.
	Fingerprint string `json:"fingerprint"`
	Clip        Clip   `json:"clip"`
	// Left and Right are the files of the eyes; the same where one holds both.
	Left  Source `json:"left"`
	Right Source `json:"right"`
	Setup Setup  `json:"setup"`
	// EyeWidth and EyeHeight are the size in pixels of one eye's picture.
	EyeWidth  int `json:"eye_width"`
	EyeHeight int `json:"eye_height"`
	// PixelAspect is the width of a pixel of it over its height, where eyes that
	// were squeezed to share a picture have their shape back.
	PixelAspect float64 `json:"pixel_aspect"`
	// Sync is what was found of the eyes' timing before measuring.
	Sync Sync `json:"sync"`
	// Planned is how many moments there are to measure.
	Planned int `json:"planned"`
}

// Moment is what was measured at one instant.
type Moment struct {
	Frame    int           `json:"frame"` // of the left eye, from 0
	Time     time.Duration `json:"time"`  // since frame 0, nanoseconds
	Timecode string        `json:"timecode,omitempty"`
	// Added says that the moment is not one of the plan, which are spread evenly, but was
	// looked at because those around it disagree.
	Added bool `json:"added,omitempty"`
	// Values holds one entry for each of metrics.All that measures moments, by
	// name; Header.Sync has those that take a whole clip.
	Values map[string]stat.Measurement `json:"values"`
	// Rig is how the rig stands as this moment alone tells it, for several to be put together;
	// nil where it tells nothing.
	Rig *geometry.State `json:"rig,omitempty"`
	// Parallax is how parallax is spread over the picture; nil where it could not
	// be measured. EdgeViolations are the window violations at the side edges, with
	// those at the top and the bottom beside them; empty where the sides have none.
	Parallax       *depth.Spread         `json:"parallax,omitempty"`
	EdgeViolations []depth.EdgeViolation `json:"cuts,omitempty"`
	// Swatches are places that both eyes show, for a colour decision. Rivalry is
	// where the eyes differ in light; nil where they do not.
	Swatches *light.Swatches    `json:"swatches,omitempty"`
	Rivalry  metrics.RivalryMap `json:"rivalry,omitempty"`
	// Left and Right are small JPEG pictures of the eyes as measured: turned
	// upright and in the right order.
	Left  []byte `json:"left_picture,omitempty"`
	Right []byte `json:"right_picture,omitempty"`
}

// Trailer closes a record.
type Trailer struct {
	Done bool `json:"done"` // always true: what tells a trailer from a moment
	// Failed says why the clip could not be measured; empty when it was.
	Failed string `json:"failed,omitempty"`
	// Short says that the night ended before every pass of the plan was
	// measured. What there is is fairly spread over the clip.
	Short bool `json:"short,omitempty"`
	// Lost lists the frames of the plan, by the left eye's number, that one of
	// the files would not give.
	Lost []int `json:"lost,omitempty"`
	// Watched is what every frame showed of the timing, where the header knows it of runs
	// only.
	Watched *Watched `json:"watched,omitempty"`
	// Pull holds the frames of a focus pull, where there is one.
	Pull  []PullFrame `json:"pull,omitempty"`
	Left  []Note      `json:"left_notes,omitempty"`
	Right []Note      `json:"right_notes,omitempty"`
}

// Seen returns the share of the frames that both eyes have, 0 to 1, of which it was seen how the
// eyes differ; false where the frames were not looked at one by one.
func (r Record) Seen() (share float64, ok bool) {
	s := r.Every
	if s == nil || s.Len() == 0 {
		return 0, false
	}
	known := 0
	for _, v := range s.Offset.Value {
		if !math.IsNaN(v) {
			known++
		}
	}
	return float64(known) / float64(s.Len()), true
}

// ErrTruncated says that a record ends before its trailer, as when the machine was
// switched off while it was written.
var ErrTruncated = errors.New("the record ends before its trailer")

// maxLine bounds the bytes of a line of a record. Two stills of a moment take some
// hundred kilobytes.
const maxLine = 16 << 20

// Read reads a record. It returns what there is together with ErrTruncated when the
// end is missing, and another error when the bytes are not a record.
func Read(r io.Reader) (Record, error) {
	var s Stream
	lines := bufio.NewReaderSize(r, 64<<10)
	for number := 1; ; number++ {
		line, err := ReadLine(lines)
		switch {
		case errors.Is(err, io.EOF):
			// A line without its end was being written when the writer died.
			if err := s.End(); err != nil {
				return Record{}, err
			}
			if !s.Closed {
				return s.Record, ErrTruncated
			}
			return s.Record, nil
		case err != nil:
			return Record{}, fmt.Errorf("line %d: %w", number, err)
		}
		if err := s.Add(line); err != nil {
			return Record{}, fmt.Errorf("line %d: %w", number, err)
		}
	}
}

// WriteTo writes the record as JSON lines, the moments in their order.
func (r Record) WriteTo(w io.Writer) (int64, error) {
	var text bytes.Buffer
	if err := WriteLine(&text, r.Header); err != nil {
		return 0, err
	}
	for _, m := range r.Moments {
		if err := WriteLine(&text, m); err != nil {
			return 0, err
		}
	}
	if r.Every != nil {
		if err := WriteLine(&text, EveryFrame{*r.Every}); err != nil {
			return 0, err
		}
	}
	r.Trailer.Done = true
	if err := WriteLine(&text, r.Trailer); err != nil {
		return 0, err
	}
	return text.WriteTo(w)
}

// Stream puts a record together from its lines, as they come.
type Stream struct {
	Record Record // so far
	Closed bool   // the trailer has come
	opened bool   // a header has come
}

// Add takes the next line, without its end, into the record.
func (s *Stream) Add(line []byte) error {
	isTrailer := bytes.HasPrefix(line, []byte(`{"done":`))
	switch {
	case s.Closed:
		return errors.New("something follows the trailer")
	case !s.opened || s.Record.Header.Early && !isTrailer:
		var h Header
		if err := ParseLine(line, &h); err != nil {
			return err
		}
		s.opened, s.Record.Header = true, h
		return nil
	case isTrailer:
		s.Closed = true
		if err := ParseLine(line, &s.Record.Trailer); err != nil {
			return err
		}
		if !s.Record.Trailer.Done {
			return errors.New("the trailer is not done")
		}
		if w := s.Record.Trailer.Watched; w != nil {
			s.Record.Header.Sync.Take(*w)
		}
		return nil
	case bytes.HasPrefix(line, []byte(`{"every":`)):
		var e EveryFrame
		if err := ParseLine(line, &e); err != nil {
			return err
		}
		if s.Record.Every == nil {
			s.Record.Every = &e.Every
			return e.Every.Check()
		}
		return s.Record.Every.Append(e.Every)
	default:
		var m Moment
		if err := ParseLine(line, &m); err != nil {
			return err
		}
		s.Record.Moments = append(s.Record.Moments, m)
		return nil
	}
}

// End sorts the moments and looks for what cannot be in a record that was written by
// measuring.
func (s *Stream) End() error {
	moments := s.Record.Moments
	slices.SortStableFunc(moments, func(m, n Moment) int { return cmp.Compare(m.Frame, n.Frame) })
	for i, m := range moments {
		switch {
		case m.Frame < 0:
			return fmt.Errorf("a moment at frame %d", m.Frame)
		case i > 0 && m.Frame == moments[i-1].Frame:
			return fmt.Errorf("two moments at frame %d", m.Frame)
		}
	}
	h := s.Record.Header
	for _, o := range []picture.Orientation{h.Setup.Left, h.Setup.Right, h.Left.Orientation, h.Right.Orientation} {
		if o > picture.Turn {
			return fmt.Errorf("a picture with orientation %d", uint8(o))
		}
	}
	if trailer := s.Record.Trailer; trailer.Done && trailer.Failed == "" && (h.EyeWidth <= 0 || h.EyeHeight <= 0) {
		return fmt.Errorf("a picture of %d×%d pixels", h.EyeWidth, h.EyeHeight)
	}
	return nil
}

// ReadLine returns the next line without its end, and io.EOF when there is no
// whole one.
func ReadLine(r *bufio.Reader) ([]byte, error) {
	var line []byte
	for {
		part, err := r.ReadSlice('\n')
		line = append(line, part...)
		switch {
		case err == nil:
			return line[:len(line)-1], nil
		case !errors.Is(err, bufio.ErrBufferFull):
			return nil, err
		case len(line) > maxLine:
			return nil, fmt.Errorf("longer than %d bytes", maxLine)
		}
	}
}

// WriteLine writes v as one line, in one call.
func WriteLine(w io.Writer, v any) error {
	line, err := json.Marshal(v)
	if err != nil {
		return err
	}
	_, err = w.Write(append(line, '\n'))
	return err
}

// ParseLine reads one JSON object and nothing else into v.
func ParseLine(line []byte, v any) error {
	if !bytes.HasPrefix(line, []byte("{")) {
		return errors.New("not a JSON object")
	}
	d := json.NewDecoder(bytes.NewReader(line))
	d.DisallowUnknownFields()
	if err := d.Decode(v); err != nil {
		return err
	}
	if d.InputOffset() != int64(len(line)) {
		return errors.New("something follows the object")
	}
	return nil
}

// Extent returns how many pixels of one eye's picture are 100 % of a unit; 0 where it is no
// part of the picture's width or height, or the picture's size is not known.
func (h Header) Extent(unit string) int {
	switch part, _, _ := strings.Cut(unit, ","); part {
	case "% of picture height":
		return h.EyeHeight
	case ParallaxUnit:
		return h.EyeWidth
	}
	return 0
}

// Aspect returns the width over the height of one eye's picture as it is meant
// to be seen, 0 when unknown.
func (h Header) Aspect() float64 {
	if h.EyeWidth <= 0 || h.EyeHeight <= 0 {
		return 0
	}
	a := float64(h.EyeWidth) / float64(h.EyeHeight)
	if h.PixelAspect > 0 {
		a *= h.PixelAspect
	}
	return a
}

// Failure says why nothing was measured of a clip; empty when something was.
func (r Record) Failure() string {
	switch {
	case r.Header.Clip.Problem != "":
		return r.Header.Clip.Problem
	case r.Trailer.Failed != "":
		return r.Trailer.Failed
	case !r.Trailer.Done:
		return "the measuring of the clip did not come to its end"
	case len(r.Moments) == 0:
		return "no moment of the clip was measured"
	}
	return ""
}
