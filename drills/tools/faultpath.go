package tools

import (
	"strop/drills"
	"strop/dsp"
	"strop/dsp/fault"
)

// combFault is a second microphone on the same source, 70 cm further off.
func combFault() sourceFault {
	return sourceFault{
		id: "comb", title: "Comb of a second microphone", name: "a comb",
		source: "a single copy is heard down to −13 to −22 dB: S. Brunner, H.-J. Maempel & S. Weinzierl, AES 122nd Convention (2007), as quoted",
		size:   under("level of the copy", -20, 0),
		make: func(rateHz float64, _ put, sizeDB, seed float64) (dsp.Processor, error) {
			return fault.Comb.New(rateHz, dsp.Setting{"delayMS": 1 + float64(int(seed)%30)/10, "levelDB": sizeDB})
		},
	}
}

// wowFault is a machine that runs unevenly, four times a second, where the ear
// is most sensitive.
func wowFault() sourceFault {
	return sourceFault{
		id: "wow", title: "Wow", name: "wow",
		source: "0.1 to 0.2 % peak at 4 Hz on tones, 0.5 to 1 % on dense mixes: common practice, no source",
		floor:  drills.AtThreshold,
		size:   spread("wowPct", "depth, peak", "%", 0.15, 2, 1),
		fit:    drills.Fit{Mix: true, Stems: true, LeastSustained: 0.3},
		make: func(rateHz float64, _ put, wowPct, _ float64) (dsp.Processor, error) {
			return fault.Flutter.New(rateHz, dsp.Setting{"wowPct": wowPct, "wowHz": 4})
		},
	}
}
