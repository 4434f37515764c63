package progress

import "slowneedle/drills/ladder"

// norm is what others make of rounds on one step: mean and standard deviation
// of the size of the error, in tolerances of the round, and the share of wrong
// answers.
type norm struct{ mean, deviation, wrong float64 }

// population has the norm of each step. Learners are not measured yet, so it is
// simulated with eight million of them (invented; a test simulates fewer again): their
// bias is normally distributed with 0.8 dB, their spread log-normally around 1.5 dB with
// a deviation of 0.4 in its logarithm; each answers 60 rounds on the ladder from
// step 1, of which the last 40 count.
var population = [ladder.Top + 1]norm{
	1:  {0.78, 0.59, 0.30},
	2:  {0.74, 0.56, 0.28},
	3:  {0.75, 0.56, 0.28},
	4:  {0.75, 0.56, 0.28},
	5:  {0.75, 0.56, 0.29},
	6:  {0.73, 0.55, 0.27},
	7:  {0.76, 0.56, 0.29},
	8:  {0.75, 0.56, 0.28},
	9:  {0.79, 0.58, 0.31},
	10: {0.79, 0.59, 0.31},
	11: {0.79, 0.59, 0.31},
	12: {0.80, 0.59, 0.32},
	13: {0.81, 0.60, 0.32},
	14: {0.83, 0.62, 0.34},
	15: {0.86, 0.64, 0.35},
	16: {0.81, 0.60, 0.32},
	17: {0.84, 0.63, 0.35},
	18: {0.90, 0.66, 0.38},
	19: {0.85, 0.63, 0.35},
	20: {0.92, 0.67, 0.39},
	21: {0.87, 0.65, 0.36},
	22: {0.96, 0.70, 0.41},
	23: {0.90, 0.67, 0.38},
	24: {0.82, 0.63, 0.33},
}

// mostTolerances is what a larger error counts as, so that a take that was
// abandoned does not decide.
const mostTolerances = 2.5
