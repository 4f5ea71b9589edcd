package takes

import (
	"math"
	"math/rand/v2"
)

// drawn is a drawn shooting day with known truth.
type drawn struct {
	left, right []Take
	// truth holds the right take of each left one, -1 where there is none.
	truth []int
	// leftAt and rightAt say when the takes began, and action which take of the day each is;
	// false starts have actions of their own.
	leftAt, rightAt         []float64
	leftAction, rightAction []int
}

// tags says what the files of a drawn day tell.
type tags struct {
	timecode, created bool
	step              bool // the right camera's clock steps in the middle of the day
}

// draw draws a day of 40 takes: in setups, of which one has takes of equal length shot one
// after the other; with two false starts on either side and a take that each camera lacks;
// with clocks up to three hours apart that drift by up to five seconds, and record buttons
// pressed up to 20 seconds apart.
func draw(seed uint64, tags tags) drawn {
	rng := rand.New(rand.NewPCG(seed, 19))
	const takes = 40
	order := rng.Perm(takes)
	falseLeft, falseRight := order[:2], order[2:4]
	lackLeft, lackRight := order[4], order[5]
	is := func(list []int, i int) bool { return list[0] == i || list[1] == i }
	uniform := func(a, b float64) float64 { return a + (b-a)*rng.Float64() }

	apart, drift := uniform(0, 3*3600), uniform(-5, 5)/(8*3600)
	if rng.IntN(2) == 0 {
		apart = -apart
	}
	frames := float64(rng.IntN(5)-2) / 24
	stepAt, stepBy := rng.IntN(takes), 0.0
	if tags.step {
		stepBy = uniform(600, 9000)
	}
	begin := 9 * 3600.0
	var d drawn
	add := func(isLeft bool, action int, at, length float64) {
		t := Take{Timecode: math.NaN(), Created: math.NaN(), Length: length}
		if tags.timecode {
			t.Timecode = math.Round(at*24) / 24
			if !isLeft {
				t.Timecode += frames
			}
		}
		if tags.created {
			t.Created = math.Floor(at)
			if !isLeft {
				by := apart + drift*(at-begin)
				if action%1000 >= stepAt {
					by += stepBy
				}
				t.Created = math.Floor(at + by)
			}
		}
		if isLeft {
			d.left, d.leftAt, d.leftAction = append(d.left, t), append(d.leftAt, at), append(d.leftAction, action)
		} else {
			d.right, d.rightAt, d.rightAction = append(d.right, t), append(d.rightAt, at), append(d.rightAction, action)
		}
	}
	at, rest, equal := begin, 0, 0
	for i := range takes {
		if rest == 0 {
			rest = 3 + rng.IntN(6)
			at += uniform(600, 2400)
			equal = 0
			if i >= 10 && i < 18 {
				equal = 20 + rng.IntN(40)
			}
		} else {
			at += uniform(25, 180)
		}
		rest--
		// False starts come before the take.
		if is(falseLeft, i) {
			length := uniform(3, 9)
			add(true, 1000+i, at, length)
			at += length + uniform(8, 25)
		}
		if is(falseRight, i) {
			length := uniform(3, 9)
			add(false, 2000+i, at, length)
			at += length + uniform(8, 25)
		}
		at += 20
		length := math.Exp(uniform(math.Log(15), math.Log(150)))
		startsApart := uniform(-20, 20)
		endsApart := uniform(-4, 4)
		if equal > 0 {
			length, endsApart = float64(equal), startsApart
		}
		// At least five seconds are of both eyes.
		startsApart = math.Copysign(min(math.Abs(startsApart), length-5), startsApart)
		if equal > 0 {
			endsApart = startsApart
		}
		inFrames := func(x float64) float64 { return math.Round(x*24) / 24 }
		if i != lackLeft {
			add(true, i, at, inFrames(length))
		}
		if i != lackRight {
			add(false, i, at+startsApart, inFrames(length-startsApart+endsApart))
		}
		at += length + 20
	}
	for _, action := range d.leftAction {
		match := -1
		for j, other := range d.rightAction {
			if other == action {
				match = j
			}
		}
		d.truth = append(d.truth, match)
	}
	return d
}

// score counts the pairs of a day: those that there are, those found, and those found that
// are none.
func (d drawn) score(a Alignment) (there, right, wrong int) {
	for i, truth := range d.truth {
		if truth >= 0 {
			there++
		}
		if c, ok := a.Pair(i); ok {
			if c.Right == truth {
				right++
			} else {
				wrong++
			}
		}
	}
	return there, right, wrong
}
