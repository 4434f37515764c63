//go:build !linux && !js

package input

import "slowneedle/audio/said"

var errNone = said.Errorf("input.none", "this edition cannot listen at a line input; open the browser edition for that")

// Devices returns that there are none.
func Devices() ([]Device, error) { return nil, errNone }

func (in *Input) open(string) { in.fail(errNone) }
