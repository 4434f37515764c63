//go:build !js

package series

import (
	_ "embed"
	"fmt"
	"html/template"
	"io"
	"math"
	"strings"
)

//go:embed page.gohtml
var pageText string

var page = template.Must(template.New("page").Parse(pageText))

// The strip of a round, in units of its drawing: ten a second, and three a
// decibel from -20 to +20 VU.
const (
	perSecond = 10.0
	perDB     = 3.0
	lowestVU  = -20.0
	highestVU = 20.0
)

// across and down are where a time and a level stand in a strip.
func across(seconds float64) float64 { return seconds * perSecond }
func down(vu float64) float64        { return (highestVU - min(max(vu, lowestVU), highestVU)) * perDB }

// stripView is the strip of one round. Its paths are SVG.
type stripView struct {
	JudgedRound
	Width, Height                 float64
	Needle, Peaks                 string
	BandTop, BandHeight, Ceiling  float64
	SteadyFrom, SteadyWidth, Zero float64
	Moves                         []moveView
	Says, Change, Aim             string
}

type moveView struct {
	X  float64
	DB string
}

// WriteHTML writes the verdicts on a return as a page that needs nothing else:
// for each round a strip of needle and peaks, with the moves of the level marked.
func (j *Judged) WriteHTML(w io.Writer, a *Answers) error {
	v := struct {
		*Judged
		Sum    Sum
		Rounds []stripView
	}{j, j.Sum(), nil}
	for i, r := range j.Rounds {
		v.Rounds = append(v.Rounds, r.strip(a, a.Rounds[i]))
	}
	return page.Execute(w, v)
}

func (r JudgedRound) strip(a *Answers, asked Answer) stripView {
	v := stripView{
		JudgedRound: r, Width: across(a.RoundSeconds), Height: down(lowestVU), Zero: down(0),
		BandTop:    down(asked.AimVU + asked.WindowDB[1] - asked.AimDB),
		Ceiling:    down(a.Rig.CeilingDBFS - a.Rig.ReferenceDBFS),
		SteadyFrom: across(r.Measured.Steady.Start), SteadyWidth: across(r.Measured.Steady.Length()),
		Says: r.Headline + " " + r.Reason, Aim: fmt.Sprintf("%+.1f", r.AimDB), Change: "-",
	}
	v.BandHeight = down(asked.AimVU+asked.WindowDB[0]-asked.AimDB) - v.BandTop
	if r.ChangeDB.Exists() {
		v.Change = fmt.Sprintf("%+.1f", math.Round(float64(r.ChangeDB)*10)/10+0)
	}
	var needle, peaks strings.Builder
	for i, p := range r.Measured.Strip {
		to := "L"
		if i == 0 {
			to = "M"
		}
		fmt.Fprintf(&needle, "%s%.1f %.1f", to, across(p.At), down(p.NeedleVU))
		fmt.Fprintf(&peaks, "M%.1f %.1fV%.1f", across(p.At), v.Height, down(p.PeakVU))
	}
	v.Needle, v.Peaks = needle.String(), peaks.String()
	for _, m := range r.Measured.Moves {
		v.Moves = append(v.Moves, moveView{across(m.At), fmt.Sprintf("%+.1f", m.DB)})
	}
	return v
}
