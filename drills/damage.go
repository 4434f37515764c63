package drills

import (
	"math"
	"sync"

	"slowneedle/audio"
	"slowneedle/audio/medium"
	"slowneedle/audio/source"
)

// Damage is how bad a tape's distortion is: third harmonic and the rest against
// the take, as medium.Damage defines it.
type Damage string

// The steps of damage, from which percentage on. The 3 % are how the highest level
// of a tape is told (common practice), the others our own figures.
const (
	DamageNone      Damage = "clean"
	DamageGrit      Damage = "grit"      // 3 %
	DamageDistorted Damage = "distorted" // 6 %
	DamageSpoiled   Damage = "spoiled"   // 12 %
)

func damageOf(percent float64) Damage {
	switch {
	case percent >= 12:
		return DamageSpoiled
	case percent >= 6:
		return DamageDistorted
	case percent >= 3:
		return DamageGrit
	}
	return DamageNone
}

// Noise is how bad a tape's hiss is, by the signal-to-noise ratio of
// medium.Damage.
type Noise string

// The steps of noise, below which ratio in dB (our own figures).
const (
	NoiseLow    Noise = "low"
	NoiseHiss   Noise = "hiss"   // 50 dB
	NoiseNoisy  Noise = "noisy"  // 42 dB
	NoiseBuried Noise = "buried" // 34 dB
)

func noiseOf(snrDB float64) Noise {
	switch {
	case snrDB < 34:
		return NoiseBuried
	case snrDB < 42:
		return NoiseNoisy
	case snrDB < 50:
		return NoiseHiss
	}
	return NoiseLow
}

// damageTable is what a tape does to a sound at every gain. It is worked out every
// damageStep dB, where it is asked for, and runs straight in between, the
// distortion in dB.
type damageTable struct {
	reference float64
	sound     *source.Sound
	pause     func() // see Settings

	mu    sync.Mutex
	known map[int][2]float64
}

const (
	damageStep      = 2.0    // dB
	leastDistortion = 0.0001 // percent
)

// at returns the signal-to-noise ratio in dB and the distortion in percent.
func (d *damageTable) at(gainDB float64) (snrDB, distortionPercent float64, err error) {
	d.mu.Lock()
	defer d.mu.Unlock()
	below := math.Floor(gainDB / damageStep)
	part := gainDB/damageStep - below
	lo, err := d.row(int(below))
	if err != nil {
		return 0, 0, err
	}
	hi, err := d.row(int(below) + 1)
	if err != nil {
		return 0, 0, err
	}
	between := func(i int) float64 { return lo[i] + float64(part*(hi[i]-lo[i])) }
	return between(0), audio.Gain(between(1)), nil
}

// row returns ratio and distortion, both in dB, at a multiple of damageStep.
func (d *damageTable) row(k int) ([2]float64, error) {
	if r, ok := d.known[k]; ok {
		return r, nil
	}
	snr, distortion, err := medium.Damage(medium.KindTape, d.reference, d.sound.Channels, damageStep*float64(k), d.pause)
	if err != nil {
		return [2]float64{}, err
	}
	if d.known == nil {
		d.known = make(map[int][2]float64)
	}
	r := [2]float64{snr, audio.DB(max(distortion, leastDistortion))}
	d.known[k] = r
	return r, nil
}
