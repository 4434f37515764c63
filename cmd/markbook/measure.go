package main

import "errors"

type measureCmd struct {
	JSON      bool     `name:"json" help:"Print one JSON array with an object for each file."`
	Reference float64  `default:"-18" placeholder:"DBFS" help:"Level of 0 VU in dBFS (${default})."`
	Lamp      float64  `default:"-6" placeholder:"DBFS" help:"Level at which the peak lamp lights, in dBFS (${default})."`
	Files     []string `arg:"" name:"file" help:"WAV files."`
}

func (m *measureCmd) Run(streams) error {
	return errors.New("measuring is not built yet")
}
