package tools

import (
	"strop/drills"
	"strop/dsp"
	"strop/dsp/fault"
)

// noPublished is the source of ladders whose hard end nobody has published.
const noPublished = "common practice, no source"

// humFault is the hum of the mains, of 50 or of 60 Hz.
func humFault() sourceFault {
	return sourceFault{
		added: true, id: "hum", title: "Hum", name: "mains hum", source: noPublished,
		size: under("level under the sound", -28, -4),
		make: func(rateHz float64, on put, sizeDB, seed float64) (dsp.Processor, error) {
			return fault.Hum.New(rateHz, dsp.Setting{"mainsHz": 50 + 10*float64(int(seed)%2), "levelDBFS": noiseLevel(on, sizeDB), "seed": seed})
		},
	}
}

// buzzFault is what a rectifier or a dimmer leaks.
func buzzFault() sourceFault {
	return sourceFault{
		added: true, id: "buzz", title: "Buzz", name: "buzz", source: noPublished,
		size: under("level under the sound", -23, -5),
		make: func(rateHz float64, on put, sizeDB, seed float64) (dsp.Processor, error) {
			return fault.Buzz.New(rateHz, dsp.Setting{"mainsHz": 50 + 10*float64(int(seed)%2), "levelDBFS": noiseLevel(on, sizeDB), "seed": seed})
		},
	}
}

// hissFault is the noise of amplifiers and tape.
func hissFault() sourceFault {
	return sourceFault{
		added: true, id: "hiss", title: "Hiss", name: "hiss", source: noPublished,
		size: under("level under the sound", -34, -7),
		make: func(rateHz float64, on put, sizeDB, seed float64) (dsp.Processor, error) {
			return fault.Hiss.New(rateHz, dsp.Setting{"levelDBFS": noiseLevel(on, sizeDB), "seed": seed})
		},
	}
}

// rumbleFault is traffic, wind and stands that were knocked.
func rumbleFault() sourceFault {
	return sourceFault{
		added: true, id: "rumble", title: "Rumble", name: "rumble", source: noPublished,
		size: under("level under the sound", -26, 6),
		fit:  drills.Fit{Stems: true, Mix: true},
		make: func(rateHz float64, on put, sizeDB, seed float64) (dsp.Processor, error) {
			return fault.Rumble.New(rateHz, dsp.Setting{"levelDBFS": noiseLevel(on, sizeDB), "highcutHz": 100, "seed": seed})
		},
	}
}

// noiseLevel is a level beside the loudness of what it is put on, within what
// the faults can be set to.
func noiseLevel(on put, sizeDB float64) float64 { return limited(on.lufs+sizeDB, -95, -12) }
