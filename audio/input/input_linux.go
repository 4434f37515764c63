package input

import (
	"time"

	"github.com/jfreymuth/pulse"
	"github.com/jfreymuth/pulse/proto"

	"slowneedle/audio"
	"slowneedle/audio/said"
)

const (
	latency  = 0.02            // seconds asked for
	fullGain = 0x10000         // the server's own figure for 0 dB
	answer   = 2 * time.Second // after which a server that is silent is given up
)

func connect() (*pulse.Client, error) {
	type result struct {
		client *pulse.Client
		err    error
	}
	ch := make(chan result, 1)
	go func() {
		c, err := pulse.NewClient(pulse.ClientApplicationName("slowneedle"))
		ch <- result{c, err}
	}()
	select {
	case r := <-ch:
		if r.err != nil {
			return nil, said.Errorf("input.no_server", "no sound server answers (%w); start one to listen at a line input", r.err)
		}
		return r.client, nil
	case <-time.After(answer):
		go func() { // one that comes after all is let go
			if r := <-ch; r.err == nil {
				r.client.Close()
			}
		}()
		return nil, said.Errorf("input.slow_server", "the sound server does not answer; start it again to listen at a line input")
	}
}

// Devices lists the inputs. The error is one sentence.
func Devices() ([]Device, error) {
	c, err := connect()
	if err != nil {
		return nil, err
	}
	defer c.Close()
	sources, err := c.ListSources()
	if err != nil {
		return nil, said.Errorf("input.list", "the sound server does not list its inputs: %w", err)
	}
	var all []Device
	for _, s := range sources {
		all = append(all, Device{ID: s.ID(), Name: s.Name()})
	}
	return all, nil
}

func (in *Input) open(id string) {
	go func() {
		if err := in.listen(id); err != nil {
			in.fail(err)
		}
	}()
}

// listen opens a device of the sound server.
func (in *Input) listen(id string) error {
	c, err := connect()
	if err != nil {
		return err
	}
	source, err := c.SourceByID(id)
	if err != nil {
		c.Close()
		return said.Errorf("input.missing", "the line input that is chosen in the settings is not there; plug it in, or choose another")
	}
	var block [2][]float32
	stream, err := c.NewRecord(pulse.Float32Writer(func(x []float32) (int, error) {
		for ch := range block {
			block[ch] = block[ch][:0]
			for i := ch; i+1-ch < len(x); i += 2 {
				block[ch] = append(block[ch], x[i])
			}
		}
		in.came(block)
		return len(x), nil
	}), pulse.RecordSource(source), pulse.RecordStereo, pulse.RecordSampleRate(audio.Rate), pulse.RecordLatency(latency),
		pulse.RecordRawOption(func(r *proto.CreateRecordStream) {
			r.ChannelVolumes = proto.ChannelVolumes{fullGain, fullGain}
		}))
	if err != nil {
		c.Close()
		return said.Errorf("input.cannot_open", "the line input cannot be opened: %w", err)
	}
	stream.Start()
	in.opened(c.Close)
	return nil
}
