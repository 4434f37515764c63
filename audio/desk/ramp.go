package desk

// ramp is a control that moves in straight lines of amplitude, one line of
// rampBlocks blocks for each new setting.
type ramp struct {
	now, to, step float32
	left          int // blocks until now is to
}

// jump sets the control at once.
func (g *ramp) jump(to float32) { *g = ramp{now: to, to: to} }

// set starts a new line from wherever the control is.
func (g *ramp) set(to float32) {
	if to == g.to {
		return
	}
	g.to = to
	g.step = (to - g.now) / rampBlocks
	g.left = rampBlocks
}

// next returns the values at the start and at the end of the next block.
func (g *ramp) next() (from, to float32) {
	from = g.now
	switch {
	case g.left > 1:
		g.now += g.step
	case g.left == 1:
		g.now = g.to
	default:
		return from, from
	}
	g.left--
	return from, g.now
}

// still reports whether the control stands at a value.
func (g *ramp) still(at float32) bool { return g.left == 0 && g.now == at }

// scale writes src times a gain that runs from one value to another.
func scale(dst, src []float32, from, to float32) {
	src = src[:len(dst)]
	if from == to {
		for i := range dst {
			dst[i] = src[i] * from
		}
		return
	}
	step := (to - from) / block
	for i := range dst {
		dst[i] = src[i] * (from + float32(step*float32(i)))
	}
}

// add adds src times a gain that runs from one value to another.
func add(dst, src []float32, from, to float32) {
	src = src[:len(dst)]
	step := (to - from) / block
	for i := range dst {
		dst[i] += float32(src[i] * (from + float32(step*float32(i))))
	}
}

// fadeIn is the start ramp's value at a frame.
func fadeIn(at int64) float32 {
	if at >= startFrames {
		return 1
	}
	return float32(at) * startStep
}

// fullScale keeps a sample within ±1; what is not a number stays that.
func fullScale(x float32) float32 { return min(max(x, -1), 1) }

// ceil keeps a sample that leaves within the ceiling; what is not a number
// becomes silence.
func ceil(x float32) float32 {
	if x != x {
		return 0
	}
	return min(max(x, -Ceiling), Ceiling)
}
