package tools

import (
	"strop/drills"
	"strop/dsp"
	"strop/dsp/fault"
)

// clippingFault is a converter that was driven too hard, turned down after.
func clippingFault() sourceFault {
	return sourceFault{
		brief: true, id: "clipping", title: "Clipping", name: "clipping", source: noPublished,
		size: spread("overDB", "peaks cut off by", "dB", 1.5, 24, 15),
		make: func(rateHz float64, on put, overDB, _ float64) (dsp.Processor, error) {
			return fault.Clipping.New(rateHz, dsp.Setting{"thresholdDBFS": limited(on.dbtp-overDB, -40, 11.9)})
		},
	}
}

// clicksFault is a clock that slips.
func clicksFault() sourceFault {
	return sourceFault{
		added: true, brief: true, id: "clicks", title: "Digital clicks", name: "digital clicks", source: noPublished,
		size: under("peak under that of the sound", -28, 0),
		make: func(rateHz float64, on put, sizeDB, seed float64) (dsp.Processor, error) {
			return fault.Clicks.New(rateHz, dsp.Setting{"perS": 3, "levelDBFS": limited(on.dbtp+sizeDB, -60, 0), "seed": seed})
		},
	}
}

// dropoutFault is a buffer that ran empty: one of 128 frames at 44.1 kHz lasts
// 3 ms, about the shortest gap that is heard.
func dropoutFault() sourceFault {
	return sourceFault{
		brief: true, id: "dropouts", title: "Dropouts", name: "dropouts",
		source: "a gap in noise is heard from 2 to 3 ms on: R. Plomp, Rate of decay of auditory sensation, JASA 36 (1964), from memory", floor: drills.AtThreshold,
		size: spread("lengthMS", "length", "ms", 3, 90, 50),
		fit:  drills.Fit{Mix: true, Stems: true, LeastSustained: 0.3},
		make: func(rateHz float64, _ put, lengthMS, seed float64) (dsp.Processor, error) {
			return fault.Dropout.New(rateHz, dsp.Setting{"perS": 2, "lengthMS": lengthMS, "edgeMS": 1, "seed": seed})
		},
	}
}

// codecFault is a file that has been through a lossy codec. The size is how
// many times less data there is than in 16 bits at 44.1 kHz: 11:1 is about
// 128 kbit/s.
func codecFault() sourceFault {
	return sourceFault{
		id: "codec", title: "Lossy codec", name: "the mark of a lossy codec", source: noPublished,
		size: spread("reduction", "data reduction", ":1", 10, 44, 30),
		fit:  drills.Fit{Mix: true, Stems: true},
		make: func(rateHz float64, _ put, reduction, _ float64) (dsp.Processor, error) {
			kbitS := 1411.2 / reduction
			return fault.Codec.New(rateHz, dsp.Setting{"rateKBitS": kbitS, "bandHz": limited(kbitS*125, 4000, 20000)})
		},
	}
}
