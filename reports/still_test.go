package reports

import (
	"bytes"
	"image"
	"image/color"
	"image/jpeg"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"nightpair/qc/judge"
	"nightpair/qc/record"
)

// flat is a JPEG of one grey.
func flat(t *testing.T, w, h int, grey uint8) []byte {
	t.Helper()
	p := image.NewGray(image.Rect(0, 0, w, h))
	for i := range p.Pix {
		p.Pix[i] = grey
	}
	var b bytes.Buffer
	require.NoError(t, jpeg.Encode(&b, p, &jpeg.Options{Quality: 100}))
	return b.Bytes()
}

func TestAnaglyph(t *testing.T) {
	both, size, err := anaglyph(flat(t, 32, 18, 200), flat(t, 33, 17, 60))
	require.NoError(t, err)
	require.Equal(t, image.Pt(32, 17), size, "what both eyes have")
	p, err := jpeg.Decode(bytes.NewReader(both))
	require.NoError(t, err)
	require.Equal(t, image.Pt(64, 34), p.Bounds().Size(), "twice the size")
	c := color.RGBAModel.Convert(p.At(31, 17)).(color.RGBA)
	const jpegLoss = 3 // code values, of quantised flat colour
	require.InDelta(t, 200, c.R, jpegLoss, "the left eye is red")
	require.InDelta(t, 60, c.G, jpegLoss, "the right eye is cyan")
	require.InDelta(t, 60, c.B, jpegLoss)

	_, _, err = anaglyph(flat(t, 8, 8, 0), []byte("no picture"))
	require.ErrorContains(t, err, "right picture")
}

func TestMarkedJPEGStaysReadable(t *testing.T) {
	data := flat(t, 16, 16, 90)
	marked := markedJPEG(data)
	require.Contains(t, string(marked[:min(len(marked), markWithin)]), mark)
	want, err := jpeg.Decode(bytes.NewReader(data))
	require.NoError(t, err)
	got, err := jpeg.Decode(bytes.NewReader(marked))
	require.NoError(t, err)
	require.Equal(t, want, got)
}

func TestShownMoments(t *testing.T) {
	moments := func(frames ...int) []record.Moment {
		var all []record.Moment
		for _, f := range frames {
			all = append(all, record.Moment{Frame: f, Left: []byte{1}, Right: []byte{1}})
		}
		return all
	}
	bare := moments(0, 10, 20, 30)
	bare[2].Right = nil
	for _, c := range []struct {
		name    string
		moments []record.Moment
		worst   []int // of the findings
		want    []int
	}{
		{"no findings: the middle", moments(0, 10, 20, 30, 40), nil, []int{2}},
		{"no single frame is worst: the middle", moments(0, 10, 20), []int{-1}, []int{1}},
		{"the nearest", moments(0, 10, 20, 30), []int{19}, []int{2}},
		{"the worst finding first, each moment once", moments(0, 10, 20, 30), []int{29, 2, 31}, []int{3, 0}},
		{"only those with pictures", bare, []int{20}, []int{1}},
		{"no more than fit", moments(0, 1, 2, 3, 4, 5), []int{5, 4, 3, 2, 1}, []int{5, 4, 3, 2}},
		{"no moments", nil, []int{3}, nil},
	} {
		t.Run(c.name, func(t *testing.T) {
			var v judge.Verdict
			for _, w := range c.worst {
				v.Findings = append(v.Findings, judge.Finding{Place: judge.Place{Worst: w}})
			}
			cl := &clip{Record: &record.Record{Moments: c.moments}, verdict: v}
			require.Equal(t, c.want, cl.shownMoments())
		})
	}
}

func TestDamagedPictureIsTold(t *testing.T) {
	n := night(t)
	n.Records, n.Verdicts = n.Records[:1], n.Verdicts[:1]
	for i := range n.Records[0].Moments {
		n.Records[0].Moments[i].Left = []byte("damaged")
	}
	dir := t.TempDir()
	require.NoError(t, Write(dir, n))
	files := tree(t, dir)
	key := n.Records[0].Header.Clip.Key()
	tells(t, files["index.html"], "No picture: left picture: invalid JPEG format")
	tells(t, files["clips/"+key+".html"], "No picture: left picture: invalid JPEG format")
	for name := range files {
		require.False(t, strings.HasPrefix(name, "pictures/"), name)
	}
}
