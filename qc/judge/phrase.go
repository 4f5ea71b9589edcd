package judge

import "nightpair/metrics"

// phrase is what there is to say of a metric, a fact or a cause that leaves its limits.
type phrase struct {
	// positive and negative say what is wrong, with the amount in place of %s; an empty
	// negative means the same whatever the sign.
	positive, negative string
	mend               Mend
	advice             string // what to do, a sentence
	ofLight            bool   // the amount is one of light, where the files tell its curve
	// say, where it is there, says what is wrong; remedy who mends a clip and how, where
	// the clip decides that; and notes what else the clip tells of it.
	say    func(judgedClip, Finding) string
	remedy remedy
	notes  func(judgedClip, Finding) []string
}

// remedy says who mends a finding and how; false leaves it to the phrase.
type remedy func(judgedClip, Finding) (mend Mend, advice string, ok bool)

// cause is what was found to make several findings at once.
type cause uint8

const (
	noCause     cause = iota
	rightNarrow       // the right eye shows narrow-range values as full, or the left full ones as narrow
	leftNarrow        // the other way round
)

// causes holds what there is to say of each cause.
var causes = map[cause]phrase{
	rightNarrow: {positive: rangePhrase("right", "left"), mend: Post, advice: "Correct the flag, not the picture."},
	leftNarrow:  {positive: rangePhrase("left", "right"), mend: Post, advice: "Correct the flag, not the picture."},
}

func rangePhrase(narrow, full string) string {
	return "the range flag of one eye's file is wrong: the " + narrow + " eye shows narrow-range values as full range, or the " +
		full + " eye full-range values as narrow range"
}

const matchFocus = "The lenses are focused at different distances: check the focus of both cameras."

// phrases holds what there is to say of each metric, of each fact, and of what a clip's
// set-up may have in it.
var phrases = map[string]phrase{
	metrics.VerticalOffset: {positive: "the right eye is %s low", negative: "the right eye is %s high",
		mend: Post, advice: "Reposition it in post, and line up the rig before the next shot.", remedy: mendGeometry},
	metrics.Roll: {positive: "the right eye is rotated clockwise by %s", negative: "the right eye is rotated anticlockwise by %s",
		mend: Post, advice: "Rotate it in post, and line up the rig before the next shot.", remedy: mendGeometry},
	metrics.Zoom: {positive: "the right eye is larger by %s", negative: "the right eye is smaller by %s",
		mend: Post, advice: "Scale it in post, and match the focal lengths before the next shot.", remedy: mendGeometry},
	metrics.Keystone: {positive: "the right eye is keystoned by %s, taller at its right side", negative: "the right eye is keystoned by %s, taller at its left side",
		mend: Post, advice: "Correct it in post, and line up the toe-in before the next shot.", remedy: mendGeometry},
	metrics.TiltKeystone: {positive: "the right eye is tilted against the left by %s", negative: "the right eye is tilted against the left by %s the other way",
		mend: Post, advice: "Correct it in post, and line up the tilt before the next shot.", remedy: mendGeometry},
	metrics.HeightStep: {positive: "vertical disparity changes with depth by %s: one camera stands higher", negative: "vertical disparity changes with depth by %s the other way: one camera stands higher",
		mend: Reshoot, advice: "No shift mends it: level the cameras before the next shot."},
	metrics.HeightSpread: {positive: "no shift mends a vertical disparity of %s at the nearest and farthest things: one camera stands higher",
		mend: Reshoot, advice: "Level the cameras before the next shot.", remedy: mendHeight},
	metrics.VerticalWorst: {positive: "vertical disparity reaches %s",
		mend: Post, advice: "No single error of the rig explains it: look at the pictures.", remedy: mendGeometry},
	metrics.VerticalRest: {positive: "residual vertical disparity of %s",
		mend: Reshoot, advice: "Check that the lenses match and that the cameras are genlocked."},

	metrics.NearParallax: {positive: "the nearest things stand %s behind the screen", negative: "the nearest things stand %s in front of the screen",
		mend: Post, remedy: mendParallax, notes: notesOnParallax},
	metrics.FarParallax: {positive: "the farthest things stand %s behind the screen", negative: "the farthest things stand %s in front of the screen",
		mend: Post, remedy: mendParallax, notes: notesOnParallax},
	metrics.FocusParallax: {positive: "what is in focus stands %s behind the screen", negative: "what is in focus stands %s in front of the screen",
		mend: Post, advice: "Shift the eyes sideways in post."},
	metrics.EdgeViolation: {positive: "the side edges truncate things in front of the screen over %s",
		mend: Post, advice: "Shift the eyes sideways in post until they stand behind the screen, or float the window.", notes: notesOnEdges},

	metrics.Exposure: {positive: "the right eye is brighter by %s", negative: "the right eye is darker by %s",
		mend: Post, advice: "Grade it in post; check irises and shutters before the next shot.", ofLight: true},
	metrics.RedBalance: {positive: "the right eye is redder by %s", negative: "the right eye is less red by %s",
		mend: Post, advice: "Grade it in post.", ofLight: true},
	metrics.BlueBalance: {positive: "the right eye is bluer by %s", negative: "the right eye is less blue by %s",
		mend: Post, advice: "Grade it in post.", ofLight: true},
	metrics.BlackLift: {positive: "the right eye's blacks are lifted by %s", negative: "the left eye's blacks are lifted by %s",
		mend: Post, advice: "Grade it in post; look for flare and a dirty mirror.", ofLight: true},
	metrics.ColourDifference: {positive: "the eyes differ in colour by %s",
		mend: Post, advice: "Grade it in post.", ofLight: true},
	metrics.Rivalry: {positive: "the eyes differ in light over %s",
		mend: Reshoot, advice: "It cannot be graded away: look for reflections, polarisation, flare and dirt.", remedy: mendRivalry},
	metrics.Noise: {positive: "the right eye is noisier by %s", negative: "the right eye is less noisy by %s",
		mend: Post, advice: "Check that both cameras have matching gain and iris.", ofLight: true},

	metrics.Softness: {positive: "the right eye is softer by %s", negative: "the left eye is softer by %s",
		mend: Reshoot, advice: "Check the focus of both cameras.", ofLight: true},
	metrics.SoftnessNear: {positive: "what is near is softer in the right eye by %s", negative: "what is near is softer in the left eye by %s",
		mend: Reshoot, advice: matchFocus, ofLight: true},
	metrics.SoftnessFar: {positive: "what is far is softer in the right eye by %s", negative: "what is far is softer in the left eye by %s",
		mend: Reshoot, advice: matchFocus, ofLight: true},
	metrics.FocusLeft: {positive: "the left eye is softer far away than near by %s", negative: "the left eye is softer near than far away by %s",
		advice: "Look where the left camera is focused."},
	metrics.FocusRight: {positive: "the right eye is softer far away than near by %s", negative: "the right eye is softer near than far away by %s",
		advice: "Look where the right camera is focused."},

	metrics.Blank: {positive: "the right eye's picture is missing over %s", negative: "the left eye's picture is missing over %s",
		mend: Reshoot, advice: "Check cables, recorder and medium."},
	metrics.Clipping: {positive: "the right eye clips below white over %s", negative: "the left eye clips below white over %s",
		mend: Reshoot, advice: "What is clipped cannot be brought back: check that camera's levels."},
	metrics.Combing: {positive: "interlace combing in the right eye over %s", negative: "interlace combing in the left eye over %s",
		mend: Post, advice: "Deinterlace in post; record progressive."},
	metrics.Overlay: {positive: "burnt-in graphics in the right eye over %s", negative: "burnt-in graphics in the left eye over %s",
		mend: Reshoot, advice: "Record the picture without the monitor's graphics."},

	metrics.SyncOffset: {positive: "the right eye is late by %s", negative: "the right eye is early by %s",
		mend: Reshoot, advice: "A sub-frame offset cannot be slipped; check genlock.", remedy: mendSync},
	metrics.ReadoutSkew: {positive: "the right eye lags increasingly towards the bottom, by %s (rolling shutter)", negative: "the right eye lags increasingly towards the top, by %s (rolling shutter)",
		mend: Rig, advice: "Turn one of the cameras the other way up, or shoot with less rolling shutter."},

	FramesDifference: {positive: "the right eye's file is longer by %s", negative: "the right eye's file is shorter by %s"},
	RateDifference: {positive: "the right eye's file runs faster by %s", negative: "the right eye's file runs slower by %s",
		advice: "Set both cameras to the same frame rate."},
	SizeDifference: {positive: "the right eye's picture has more pixels by %s", negative: "the right eye's picture has fewer pixels by %s",
		advice: "Set both cameras to the same picture size."},
	AspectDifference: {positive: "the right eye's pixels are wider by %s", negative: "the right eye's pixels are narrower by %s",
		advice: "Correct the pixel aspect ratio in the files' tags."},
	TimecodeDifference: {positive: "the right eye's timecode is ahead of the pictures by %s", negative: "the right eye's timecode is behind the pictures by %s",
		advice: "Sync by the pictures, not by timecode."},
	LostMoments: {positive: "%s could not be read", advice: "Check the files for damage."},
	FocusLag: {positive: "the convergence follows the focus %s late", negative: "the convergence runs %s ahead of the focus",
		mend: Rig, advice: "Check how the motors of focus and convergence are linked.", notes: notesOnAxes},
	RightAxis: {positive: "during the focus pull the right camera contributes %s of the convergence", negative: "during the focus pull the right camera turns against the convergence by %s of it",
		mend: Rig, advice: "Check the motors of both axes.", notes: notesOnAxes},
	LensLag: {positive: "the right lens follows the focus pull %s late", negative: "the right lens runs %s ahead in the focus pull",
		mend: Rig, advice: "Check how the focus motors of both lenses are linked."},
	LensTravel: {positive: "during the focus pull the right lens travels further than the left by %s of the way", negative: "during the focus pull the right lens falls short of the left by %s of the way",
		mend: Reshoot, remedy: mendTravel},
	DroppedFrames: {say: sayFrameFaults("dropped"),
		mend: Post, advice: "Rebuild what is missing in post, and slip the eye where it stays out of sync; check the recorder.", notes: notesOnFrameFaults},
	RepeatedFrames: {say: sayFrameFaults("repeats"),
		mend: Post, advice: "Rebuild them in post; check the recorder.", notes: notesOnFrameFaults},
	BlackFrames: {say: sayFrameFaults("is black for"),
		mend: Reshoot, advice: "Check cables, recorder and medium.", notes: notesOnFrameFaults},
	ClockDrift: {positive: "the right eye drifts late during the clip, its clock fast by %s", negative: "the right eye drifts early during the clip, its clock slow by %s",
		mend: Rig, advice: "Genlock both cameras."},
	ColourTagsDifference: {positive: "the files' colour tags differ",
		advice: "Correct the tags, or the eyes will be shown in different colours."},

	orientationName: {say: sayOrientation, remedy: mendOrientation, notes: note("It was measured turned back.")},
	eyeOrderName: {positive: "the eyes are exchanged: what is named left is the right eye, which turns depth inside out",
		mend: Post, advice: "Exchange them in post; check the cabling and the names.", notes: note("It was measured with the eyes exchanged back.")},
	slipName: {say: saySlip, remedy: mendSlip, notes: note("It was measured in sync.")},
}

func note(text string) func(judgedClip, Finding) []string {
	return func(judgedClip, Finding) []string { return []string{text} }
}
