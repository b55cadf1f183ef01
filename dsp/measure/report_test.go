package measure

import (
	"encoding/json"
	"math"
	"reflect"
	"slices"
	"strings"
	"testing"

	"strop/dsp"
)

func TestReportNames(t *testing.T) {
	r := NewReporter(48000, 2)
	r.Process(musicLike(48000, 1, 5))
	text, err := json.Marshal(r.Report())
	if err != nil {
		t.Fatal(err)
	}
	var fields map[string]any
	if err := json.Unmarshal(text, &fields); err != nil {
		t.Fatal(err)
	}
	for _, name := range strings.Fields("integratedLUFS maxMomentaryLUFS maxShortTermLUFS loudnessRangeLU truePeakDBTP samplePeakDBFS correlation durationS rateHz channels") {
		if _, ok := fields[name].(float64); !ok {
			t.Errorf("%s is %v", name, fields[name])
		}
		delete(fields, name)
	}
	bands, _ := fields["thirdOctaves"].([]any)
	if len(bands) != dsp.ThirdOctaves || len(fields) != 1 {
		t.Fatalf("%d bands, left over %v", len(bands), fields)
	}
	want := map[string]any{"nominalHz": 1000.0, "freqHz": 1000.0, "levelDB": bands[17].(map[string]any)["levelDB"].(float64)}
	if !reflect.DeepEqual(bands[17], want) {
		t.Errorf("the 1 kHz band is %v", bands[17])
	}
}

func TestReportOfSilence(t *testing.T) {
	r := NewReporter(8000, 1)
	r.Process(make([]dsp.Frame, 8000))
	text, err := json.Marshal(r.Report())
	if err != nil {
		t.Fatal(err)
	}
	start := `{"integratedLUFS":null,"maxMomentaryLUFS":null,"maxShortTermLUFS":null,"loudnessRangeLU":null,` +
		`"truePeakDBTP":null,"samplePeakDBFS":null,"correlation":0,"durationS":1,"rateHz":8000,"channels":1,"thirdOctaves":[` +
		`{"nominalHz":20,"freqHz":19.952623149688797,"levelDB":null},`
	if !strings.HasPrefix(string(text), start) {
		t.Errorf("silence is told as\n%s", text)
	}
}

func TestLevelJSON(t *testing.T) {
	for level, want := range map[Level]string{
		-23: "-23", -22.99331: "-22.9933", 1e-9: "0", -1e-9: "0", Level(math.Inf(1)): "null", Level(math.NaN()): "null",
	} {
		if got, err := json.Marshal(level); err != nil || string(got) != want {
			t.Errorf("%v is written %s, %v; want %s", float64(level), got, err, want)
		}
	}
}

// A mono file: 3 dB under the same on two loudspeakers in loudness, the same
// in all else. What is on the right does not matter.
func TestReportOfMono(t *testing.T) {
	buf := sine(48000, 1000, -20, 0, 4)
	stereo := NewReporter(48000, 2)
	stereo.Process(buf)
	for i := range buf {
		buf[i][1] = math.NaN()
	}
	mono := NewReporter(48000, 1)
	inPieces(mono, buf, 1)
	s, m := stereo.Report(), mono.Report()
	near(t, "loudness", float64(s.IntegratedLUFS-m.IntegratedLUFS), 3.0103, 1e-4)
	near(t, "correlation", float64(m.Correlation), 1, 1e-12)
	near(t, "true peak", float64(m.TruePeakDBTP), float64(s.TruePeakDBTP), 0)
	if !reflect.DeepEqual(m.ThirdOctaves, s.ThirdOctaves) {
		t.Error("the bands differ")
	}
}

// meters is one of each, for what holds for all of them: what it reads, as
// text of every bit.
func meters(rateHz float64) map[string]struct {
	dsp.Processor
	read func() any
} {
	type meter = struct {
		dsp.Processor
		read func() any
	}
	loudness, peak, thirds := NewLoudnessMeter(rateHz, 2), NewTruePeakMeter(rateHz), NewThirdOctaveMeter(rateHz)
	correlation, stereo, mono := new(CorrelationMeter), NewReporter(rateHz, 2), NewReporter(rateHz, 1)
	return map[string]meter{
		"loudness": {loudness, func() any { return []any{loudness.Result(), loudness.Momentary(), loudness.ShortTerm()} }},
		"peak": {peak, func() any {
			truePeakDBTP, samplePeakDBFS := peak.Result()
			return [2]float64{truePeakDBTP, samplePeakDBFS}
		}},
		"thirds":           {thirds, func() any { return thirds.Result() }},
		"correlation":      {correlation, func() any { return correlation.Result() }},
		"report":           {stereo, func() any { return stereo.Report() }},
		"report of a mono": {mono, func() any { return mono.Report() }},
	}
}

// Any split into blocks, and a reading in between, gives the same bits; the
// frames stay as they were; Reset forgets everything, infinities and NaN too.
func TestMetersAreProcessors(t *testing.T) {
	for _, rateHz := range []float64{11025, 44100, 192000} {
		buf := musicLike(rateHz, 9, 5)
		kept := slices.Clone(buf)
		whole, pieces := meters(rateHz), meters(rateHz)
		for name, m := range whole {
			m.Process(buf)
			p := pieces[name]
			p.Process([]dsp.Frame{{math.NaN(), math.Inf(1)}, {math.Inf(-1), 1}})
			p.Process(buf[:3000])
			p.Reset()
			inPieces(p, buf[:len(buf)/2], 1)
			p.read()
			inPieces(p, buf[len(buf)/2:], 2)
			if got, want := p.read(), m.read(); !reflect.DeepEqual(got, want) {
				t.Errorf("%s at %g Hz: in pieces %v, at once %v", name, rateHz, got, want)
			}
			if !slices.Equal(buf, kept) {
				t.Fatalf("%s changes what it is given", name)
			}
			if a := testing.AllocsPerRun(5, func() { m.Process(buf[:1000]) }); a != 0 {
				t.Errorf("%s: %g allocations in Process", name, a)
			}
		}
	}
}

func TestMetersRefuse(t *testing.T) {
	for _, c := range []struct {
		rateHz   float64
		channels int
	}{{0, 2}, {7999, 2}, {384001, 2}, {math.NaN(), 2}, {48000, 0}, {48000, 6}} {
		if CheckFormat(c.rateHz, c.channels) == nil {
			t.Errorf("CheckFormat allows %g Hz, %d channels", c.rateHz, c.channels)
		}
		func() {
			defer func() {
				if recover() == nil {
					t.Errorf("NewReporter allows %g Hz, %d channels", c.rateHz, c.channels)
				}
			}()
			NewReporter(c.rateHz, c.channels)
		}()
	}
	if err := CheckFormat(48000, 2); err != nil {
		t.Error(err)
	}
}

func BenchmarkReporter(b *testing.B) {
	benchmarkMeter(b, NewReporter(48000, 2), musicLike(48000, 1, 30))
}
