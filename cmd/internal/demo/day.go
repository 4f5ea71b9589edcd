package demo

import (
	"nightpair/decode/encode"
	"nightpair/metrics/synth"
)

// Take is a shot of the invented day.
type Take struct {
	// Left and Right are the files of the eyes, relative to the day's folder and
	// with slashes. Right is empty where Left holds both eyes side by side.
	Left, Right string
	Timecode    string
	Frames      int
	// Doc says what was done to it.
	Doc string
	// Faults lists the limits that it was made to exceed; empty for a clean clip.
	// A fault may drag other measurements along: what is shifted down has a large
	// vertical disparity everywhere.
	Faults []Fault

	// What is done to the right eye: drawn needs pictures of its own; sunk moves
	// the picture down by % of the height, at k from 0 to 1 over the take; stops
	// changes the light.
	drawn func(*synth.Shot)
	sunk  func(k float64) float64
	stops float64

	codec  encode.Codec
	chroma synth.Chroma
}

// Fault is a value that was put into a clip.
type Fault struct {
	Metric string // one of metrics.All
	// Statistic is what leaves its limits: "median", or "drift" from the first to
	// the last frame.
	Statistic string
	Value     float64 // in the unit of the metric
}

// Packed reports whether one file holds both eyes, side by side.
func (c Take) Packed() bool { return c.Right == "" }

// setup is a place with the rig set up in it, for one or more takes.
type setup struct {
	scene synth.Scene
	noise float64 // standard deviation in 8-bit code values at 18 % grey
	takes []Take
}

// Day lists the clips in the order of their timecodes. Apart from their faults
// they are clean: no vertical disparity, and parallax that suits a screen one
// metre wide.
func Day() []Take {
	var clips []Take
	for _, s := range setups {
		clips = append(clips, s.takes...)
	}
	return clips
}

const rate = 24 // frames per second

var setups = []setup{
	{
		scene: yard, noise: 0.8,
		takes: []Take{
			{
				Left: "millyard/12A_t1_L.mov", Right: "millyard/12A_t1_R.mov", Timecode: "09:14:22:05", Frames: 72,
				Doc: "day, clean",
			},
			{
				Left: "millyard/12A_t2_L.mov", Right: "millyard/12A_t2_R.mov", Timecode: "09:21:48:17", Frames: 72,
				Doc:    "the right camera was knocked: its picture sits 2.2 % of the height too low",
				Faults: []Fault{{"vertical_offset", "median", 2.2}},
				sunk:   func(float64) float64 { return 2.2 },
			},
			{
				Left: "millyard/12A_t3_L.mov", Right: "millyard/12A_t3_R.mov", Timecode: "09:33:05:11", Frames: 72,
				Doc:    "the right picture is turned by 1.6° clockwise",
				Faults: []Fault{{"roll", "median", 1.6}},
				drawn:  func(s *synth.Shot) { s.Rig.Picture.Roll = 1.6 },
			},
			{
				Left: "millyard/12A_t4_L.mov", Right: "millyard/12A_t4_R.mov", Timecode: "09:47:31:00", Frames: 72,
				Doc:    "the right camera's iris is two stops too far closed",
				Faults: []Fault{{"exposure", "median", -2}},
				stops:  -2,
			},
		},
	},
	{
		scene: passage, noise: 1,
		takes: []Take{
			{
				Left: "passage/LEFT/14_t1.mp4", Right: "passage/RIGHT/14_t1.mp4", Timecode: "11:02:10:08", Frames: 72,
				Doc:    "the lenses differ in focal length: the right picture is 3.6 % larger",
				Faults: []Fault{{"zoom", "median", 3.6}},
				drawn:  func(s *synth.Shot) { s.Rig.Picture.Zoom = 3.6 },
				codec:  encode.H264, chroma: synth.Chroma420,
			},
			{
				Left: "passage/LEFT/14_t2.mp4", Right: "passage/RIGHT/14_t2.mp4", Timecode: "11:09:55:21", Frames: 72,
				Doc:    "a plate works loose: the right picture sinks by 0.6 % of the height during the shot",
				Faults: []Fault{{"vertical_offset", "drift", 0.6}},
				sunk:   func(k float64) float64 { return 0.6*k - 0.3 },
				codec:  encode.H264, chroma: synth.Chroma420,
			},
		},
	},
	{
		scene: weir, noise: 0.8,
		takes: []Take{{
			Left: "weir/17_t1_sbs.mp4", Timecode: "15:40:03:14", Frames: 72,
			Doc:    "cameras 20 cm apart: too much depth for a screen of one metre, both near and far",
			Faults: []Fault{{"near_parallax", "median", -4.5}, {"far_parallax", "median", 4.45}},
			codec:  encode.H264, chroma: synth.Chroma420,
		}},
	},
	{
		scene: night, noise: 0.6,
		takes: []Take{{
			Left: "lanterns/21N_t1_L.mp4", Right: "lanterns/21N_t1_R.mp4", Timecode: "21:18:37:03", Frames: 72,
			Doc:   "night, clean: dark walls and a few lamps",
			codec: encode.H264, chroma: synth.Chroma420,
		}},
	},
}
