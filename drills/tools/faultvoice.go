package tools

import (
	"strop/drills"
	"strop/dsp"
	"strop/dsp/fault"
)

// onVoices is the Fit of what befalls singers and speakers.
var onVoices = drills.Fit{Stems: true, Roles: voices}

// plosiveFault is breath that hits the microphone on a p, b or t.
func plosiveFault() sourceFault {
	return sourceFault{
		id: "plosives", title: "Plosives", name: "plosives", source: noPublished, brief: true, fit: onVoices,
		size: under("level beside the voice", -27, 14),
		make: func(rateHz float64, _ put, sizeDB, seed float64) (dsp.Processor, error) {
			return fault.Plosive.New(rateHz, dsp.Setting{"levelDB": sizeDB, "sharePct": 60, "seed": seed})
		},
	}
}

// sibilanceFault is a voice whose s sounds stand out.
func sibilanceFault() sourceFault {
	return sourceFault{
		id: "sibilance", title: "Sibilance", name: "sharp sibilants", source: noPublished, brief: true, fit: onVoices,
		size: spread("gainDB", "sibilants raised by", "dB", 2.5, 16, 10),
		make: func(rateHz float64, _ put, gainDB, _ float64) (dsp.Processor, error) {
			return fault.Sibilance.New(rateHz, dsp.Setting{"gainDB": gainDB, "freqHz": 4000})
		},
	}
}

// distanceFault is a microphone that stood too far off.
func distanceFault() sourceFault {
	return sourceFault{
		id: "distance", title: "Distant microphone", name: "a distant microphone",
		source: "common practice, no source; 4 m and 1 m in one room differ by 12 dB of direct to reverberant sound",
		size:   spread("distanceM", "distance", "m", 0.1, 4.4, 2.5),
		fit:    drills.Fit{Stems: true},
		make: func(rateHz float64, _ put, distanceM, seed float64) (dsp.Processor, error) {
			return fault.Distance.New(rateHz, dsp.Setting{"distanceM": distanceM, "seed": seed})
		},
	}
}

// breathFault is breath as loud as what is sung.
func breathFault() sourceFault {
	return sourceFault{
		id: "breaths", title: "Loud breaths", name: "loud breaths", source: noPublished, brief: true,
		fit:  drills.Fit{Stems: true, Roles: voices, LeastGaps: 0.1},
		size: under("level under the voice", -31, 0),
		make: func(rateHz float64, _ put, sizeDB, seed float64) (dsp.Processor, error) {
			return fault.Breath.New(rateHz, dsp.Setting{"levelDB": sizeDB, "seed": seed})
		},
	}
}
