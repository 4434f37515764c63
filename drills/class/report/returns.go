package report

import "math"

// deskRow is one learner's return from a real desk.
type deskRow struct{ Who, Right, Mean, Spread, Points string }

// RealDesk is the table of the returns.
func (v pageView) RealDesk() []deskRow {
	var rows []deskRow
	db := func(x float64, say func(float64, int) string) string {
		if math.IsNaN(x) {
			return "–"
		}
		return say(x, 1)
	}
	for _, j := range v.Returns {
		sum := j.Sum()
		rows = append(rows, deskRow{
			Who:   j.Who,
			Right: v.Words.Say("book.of_right", sum.Right, len(j.Rounds)),
			Mean:  db(sum.BiasDB, v.Words.Signed), Spread: db(sum.SpreadDB, v.Words.Number),
			Points: v.Words.Number(sum.Points, 0),
		})
	}
	return rows
}
