package fault_test

import (
	"math"
	"testing"

	"strop/dsp"
	"strop/dsp/dsptest"
	"strop/dsp/fault"
	"strop/dsp/measure"
)

// Hiss 25 dB and rumble 20 dB under the rms of the material are read in all of
// them within 1.5 dB; the clean side's floor lies 10 dB lower still.
//
// White noise has 8000/19980 of its power from 8 to 16 kHz. Of rumble, the
// share from 8 to 40 Hz follows from Butterworth's magnitudes.
func TestNoiseIsFound(t *testing.T) {
	hissShareDB, rumbleShareDB := dsp.PowerToDB(8000.0/19980), dsp.PowerToDB(rumblePower(8, 40)/rumblePower(0.5, 2000))
	for _, m := range materials(t) {
		clean, rmsDB := measure.NoiseFloorOf(m.frames, m.rateHz), measure.RMSDBFS(m.frames)
		buf, _ := m.with(t, fault.Hiss, dsp.Setting{"levelDBFS": rmsDB - 25})
		hissDB := measure.NoiseFloorOf(buf, m.rateHz).HissDBFS
		near(t, m.name+": hiss", hissDB, rmsDB-25+hissShareDB, 1.5)
		buf, _ = m.with(t, fault.Rumble, dsp.Setting{"levelDBFS": rmsDB - 20})
		rumbleDB := measure.NoiseFloorOf(buf, m.rateHz).RumbleDBFS
		near(t, m.name+": rumble", rumbleDB, rmsDB-20+rumbleShareDB, 1.5)
		if clean.HissDBFS > hissDB-10 || clean.RumbleDBFS > rumbleDB-10 {
			t.Errorf("%s as it is: hiss %.1f, rumble %.1f; with them %.1f, %.1f", m.name, clean.HissDBFS, clean.RumbleDBFS, hissDB, rumbleDB)
		}
	}
}

// rumblePower is ∫|H|²·df of cuts of order 2 at 10 Hz and 4 at 60 Hz.
func rumblePower(loHz, hiHz float64) (sum float64) {
	const steps = 20000
	for i := range steps {
		f := loHz + (hiHz-loHz)*(float64(i)+0.5)/steps
		sum += (hiHz - loHz) / steps / (1 + math.Pow(10/f, 4)) / (1 + math.Pow(f/60, 8))
	}
	return sum
}

// Noise alone reads as it is, in all of its bands: those of 125 Hz and above,
// which hold much of it in a clip of 8 s, within 0.5 dB.
func TestFloorOfNoise(t *testing.T) {
	for _, dbOct := range []float64{-3, 0, 3} {
		hiss, _ := material{"silence", 48000, make([]dsp.Frame, 8*48000)}.with(t, fault.Hiss, dsp.Setting{"levelDBFS": -40, "slopeDBOct": dbOct})
		floor, level := measure.NoiseFloorOf(hiss, 48000), measure.ThirdOctavesDB(hiss, 48000)
		near(t, "hiss of the level", floor.LevelDBFS, -40, 1)
		for i := 8; i < dsp.ThirdOctaves; i++ {
			near(t, "band", floor.BandsDB[i], level[i], 0.5)
		}
	}
	for _, mono := range []bool{false, true} {
		noise := dsptest.Noise(3, 0.01, 8*48000)
		for i := range noise {
			if mono {
				noise[i][1] = noise[i][0]
			}
		}
		floor, level := measure.NoiseFloorOf(noise, 48000), measure.ThirdOctavesDB(noise, 48000)
		near(t, "white noise at 1 kHz", floor.BandsDB[17], level[17], 0.5)
	}
}

// A slope in dB per octave is a straight line over the third octaves, whose
// bands widen by 3.01 dB per octave; the level is that of 20 Hz to 20 kHz at
// any rate.
func TestHissIsAsStated(t *testing.T) {
	for _, rateHz := range []float64{44100, 48000, 96000} {
		for _, dbOct := range []float64{-3, -1, 0, 2, 3} {
			hiss, _ := material{"silence", rateHz, make([]dsp.Frame, 20*int(rateHz))}.with(t, fault.Hiss, dsp.Setting{"levelDBFS": -40, "slopeDBOct": dbOct})
			bands := measure.ThirdOctavesDB(hiss, rateHz)
			for i := 10; i <= 27; i++ { // 200 Hz to 10 kHz
				want := bands[17] + (dbOct+3.0103)*dsp.Octaves(1000, dsp.ThirdOctaveHz(i))
				near(t, "band", bands[i], want, 0.5)
			}
			sum := 0.0
			for _, db := range bands {
				sum += math.Pow(10, db/10)
			}
			near(t, "level", dsp.PowerToDB(sum), -40, 1)
		}
	}
}

// The rumble's spectrum is Butterworth's: |H|² at the corners is a half.
func TestRumbleIsAsStated(t *testing.T) {
	rumble, _ := material{"silence", 48000, make([]dsp.Frame, 60*48000)}.with(t, fault.Rumble, dsp.Setting{"levelDBFS": -30})
	near(t, "level", measure.RMSDBFS(rumble), -30, 0.3)
	bands := measure.ThirdOctavesDB(rumble, 48000)
	total := rumblePower(0.5, 2000)
	for i := 1; i <= 9; i++ { // 25 to 160 Hz
		lo, hi := dsp.ThirdOctaveEdges(i)
		near(t, "band", bands[i], -30+dsp.PowerToDB(rumblePower(lo, hi)/total), 1)
	}
}
