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
// pressed up to 20 seconds apart. Takes last 25 to 150 seconds.
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
				equal = 30 + rng.IntN(40)
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
		length := math.Exp(uniform(math.Log(25), math.Log(150)))
		startsApart := uniform(-20, 20)
		endsApart := uniform(-4, 4)
		if equal > 0 {
			length, endsApart = float64(equal), startsApart
		}
		// What is of both eyes lasts ten seconds at least.
		startsApart = math.Copysign(min(math.Abs(startsApart), length-14), startsApart)
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

// shown draws what the takes of a day show. What an action shows is half of the script that
// all takes of the day repeat, half its own; each eye adds its own noise.
func (d drawn) shown(seed uint64, pictures, sound bool) (left, right []Comparable) {
	const glimpse, before = 120.0, 60.0
	series := func(rate float64, length float64, stream uint64, correlated float64) []float64 {
		rng := rand.New(rand.NewPCG(seed, stream))
		out := make([]float64, int(length*rate))
		keep := math.Exp(-1 / (correlated * rate))
		v := rng.NormFloat64()
		for i := range out {
			v = keep*v + math.Sqrt(1-keep*keep)*rng.NormFloat64()
			out[i] = v
		}
		return out
	}
	take := func(action int, begins, length float64, zero float64, own uint64) Shown {
		of := func(rate, correlated, noise float64, kind uint64) []float64 {
			script := series(rate, 400, 1000+kind, correlated)
			ours := series(rate, 400, 10000+10*uint64(action)+kind, correlated)
			mine := series(rate, 400, 100000+own*10+kind, 0.3/rate)
			var out []float64
			for i := range int(min(length, glimpse) * rate) {
				at := (begins - zero + before) * rate
				k := int(math.Round(at)) + i
				v := math.Sqrt(0.5)*script[k] + math.Sqrt(0.5)*ours[k] + noise*mine[i]
				out = append(out, v)
			}
			return out
		}
		var s Shown
		if pictures {
			s.Light = of(PictureRate, 1, 0.8, 1)
			s.Motion = of(PictureRate, 0.3, 0.6, 2)
		}
		if sound {
			s.Sound = of(SoundRate, 0.15, 0.8, 3)
		}
		return s
	}
	// An action's time zero is when the left camera, or else the right one, began it.
	zero := map[int]float64{}
	for j, action := range d.rightAction {
		zero[action] = d.rightAt[j]
	}
	for i, action := range d.leftAction {
		zero[action] = d.leftAt[i]
	}
	for i, action := range d.leftAction {
		left = append(left, take(action, d.leftAt[i], d.left[i].Length, zero[action], uint64(2*i)).Comparable())
	}
	for j, action := range d.rightAction {
		right = append(right, take(action, d.rightAt[j], d.right[j].Length, zero[action], uint64(2*j+1)).Comparable())
	}
	return left, right
}

// drawHurried draws a day of 2 to 41 takes of 8 to 58 seconds, 8 to 38 seconds apart, of which
// each camera lacks a fifth, with buttons pressed up to five seconds apart. The right camera's
// clock is hours off.
func drawHurried(seed uint64, tags tags) drawn {
	rng := rand.New(rand.NewPCG(seed, 5))
	uniform := func(a, b float64) float64 { return a + (b-a)*rng.Float64() }
	var d drawn
	at, clocks := 3600.0, uniform(-10000, 10000)
	take := func(at, length, clock float64) Take {
		t := Take{Timecode: math.NaN(), Created: math.NaN(), Length: length}
		if tags.timecode {
			t.Timecode = at
		}
		if tags.created {
			t.Created = math.Floor(at + clock)
		}
		return t
	}
	for range 2 + rng.IntN(40) {
		length := 8 + 50*rng.Float64()*rng.Float64()
		starts, ends := uniform(-5, 5), uniform(-3, 3)
		hasLeft, hasRight := rng.Float64() > 0.2, rng.Float64() > 0.2
		if hasLeft {
			d.left, d.truth = append(d.left, take(at, length, 0)), append(d.truth, -1)
		}
		if hasRight {
			if hasLeft {
				d.truth[len(d.truth)-1] = len(d.right)
			}
			d.right = append(d.right, take(at+starts, max(length-starts+ends, 2), clocks))
		}
		at += length + uniform(8, 38)
	}
	return d
}
