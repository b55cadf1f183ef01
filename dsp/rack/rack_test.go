package rack_test

import (
	"fmt"
	"math"
	"reflect"
	"regexp"
	"strings"
	"testing"

	"strop/dsp"
	"strop/dsp/dsptest"
	"strop/dsp/rack"
)

// Settings that a table-wide check might miss by chance.
var special = map[string][]dsp.Setting{
	"hum":         {{"levelDBFS": -12}, {"levelDBFS": -40, "mainsHz": 60, "seed": 7}},
	"buzz":        {{"levelDBFS": -30, "brightHz": 10000}},
	"hiss":        {{"levelDBFS": -40, "slopeDBOct": 3}, {"levelDBFS": -40, "slopeDBOct": -3}, {"levelDBFS": -40}},
	"rumble":      {{"levelDBFS": -30, "highcutHz": 30}},
	"dc":          {{"offsetPct": -50}},
	"clipping":    {{"thresholdDBFS": -12, "trimDB": -6}},
	"clicks":      {{"perS": 20, "levelDBFS": 0}},
	"crackle":     {{"perS": 50, "levelDBFS": -6, "spreadDB": 12}},
	"dropout":     {{"perS": 4, "lengthMS": 1, "edgeMS": 2}, {"perS": 4, "lengthMS": 5}, {"perS": 4, "lengthMS": 5, "edgeMS": 2, "seed": 3}},
	"tapedropout": {{"perS": 4, "lengthMS": 10, "depthDB": 20, "seed": 3}},
	"plosive":     {{"levelDB": 15}, {"levelDB": 0, "sharePct": 50, "seed": 9}},
	"sibilance":   {{"gainDB": 18}, {"gainDB": 12, "freqHz": 8000}},
	"breath":      {{"levelDB": 0}},
	"mouthclicks": {{"perS": 10, "levelDB": 0}, {"perS": 10, "levelDB": -20, "seed": 4}},
	"distance":    {{"distanceM": 3}, {"distanceM": 0.1, "cardioid": 0}, {"distanceM": 8, "volumeM3": 2000, "decayS": 0.2}},
	"comb":        {{"delayMS": 30, "distanceCM": 500, "levelDB": 0}, {"delayMS": 0, "levelDB": -3, "inverted": 1}},
	"flutter":     {{"wowPct": 3, "wowHz": 0.5, "flutterPct": 1, "flutterHz": 6}},
	"codec":       {{"rateKBitS": 16}, {"rateKBitS": 128, "bandHz": 16000, "joint": 0}, {"bandHz": 2000}},

	"gain":       {{"gainDB": -96}, {"gainDB": 24}},
	"pan":        {{"positionPct": -100}, {"positionPct": 100, "centreDB": -6}, {"positionPct": 30, "centreDB": -4.5}},
	"width":      {{"widthPct": 0}, {"widthPct": 200}},
	"polarity":   {{"left": 1}, {"right": 1}},
	"delay":      {{"delayMS": 100, "distanceM": 30, "samples": 1000}, {"samples": 0.5, "left": 0}, {"distanceM": 0.001, "right": 0}},
	"allpass":    {{"freqHz": 20, "q": 10, "stages": 4}, {"freqHz": 20000, "q": 0.1, "stages": 1}},
	"peak":       {{"freqHz": 500, "gainDB": -14}, {"freqHz": 10, "gainDB": 24, "q": 10}, {"freqHz": 20000, "gainDB": -24, "q": 0.1}},
	"lowshelf":   {{"freqHz": 10, "gainDB": 24}, {"freqHz": 20000, "gainDB": -24, "slope": 0.2}},
	"highshelf":  {{"freqHz": 20000, "gainDB": 24}, {"freqHz": 10, "gainDB": -24, "slope": 0.2}},
	"lowcut":     {{"freqHz": 10, "slopeDBOct": 48}, {"freqHz": 20000, "slopeDBOct": 48, "cornerDB": -6}, {"slopeDBOct": 6}},
	"highcut":    {{"freqHz": 20000, "slopeDBOct": 48}, {"freqHz": 10, "slopeDBOct": 48, "cornerDB": -6}, {"slopeDBOct": 6}},
	"notch":      {{"freqHz": 20, "depthDB": 96, "q": 30}, {"freqHz": 20000, "depthDB": 96, "q": 0.5}},
	"bandpass":   {{"freqHz": 20, "outsideDB": -96, "q": 30}, {"freqHz": 20000, "outsideDB": -96, "q": 0.3}},
	"tilt":       {{"slopeDBOct": 3, "freqHz": 20000}, {"slopeDBOct": -3, "freqHz": 20}},
	"tanh":       {{"driveDB": 40}, {"driveDB": 12, "mixPct": 50}},
	"softclip":   {{"driveDB": 40}, {"driveDB": 12, "mixPct": 50}},
	"hardclip":   {{"driveDB": 40}, {"driveDB": 12, "mixPct": 50}},
	"asymmetric": {{"driveDB": 40, "asymmetry": 0.5}, {"driveDB": 12}},
	"tape":       {{"driveDB": 40, "trebleDB": 20}, {"driveDB": 12}},
	"bitdepth":   {{"bits": 2}, {"bits": 16, "dither": 1}},
	"samplerate": {{"sampleRateHz": 500}, {"sampleRateHz": 22050}},
	"compressor": {
		{"ratio": 20, "attackMS": 0.05, "lookaheadMS": 10, "linkPct": 30, "programmePct": 100, "rmsMS": 5, "sidechainHz": 100, "sidechainTiltDB": 6},
		{"ratio": 20, "topology": 0, "attackMS": 0.05, "releaseMS": 10, "kneeDB": 0, "thresholdDB": -60, "makeupDB": 24, "mixPct": 50},
	},
	"fet":       {{"ratio": 20, "thresholdDB": -60, "attackMS": 0.02, "releaseMS": 50}},
	"gate":      {{"rangeDB": 80, "attackMS": 0.02, "releaseMS": 5, "holdMS": 1, "thresholdDB": -12, "lookaheadMS": 10}},
	"transient": {{"attackDB": 15, "sustainDB": -15}},
	"threeband": {{"lowRatio": 20, "highRatio": 20, "lowHz": 50, "highHz": 10000}},
	"room":      {{"drrDB": 0, "lengthM": 9}},
	"chamber":   {{"drrDB": 0, "predelayMS": 10}},
	"hall":      {{"drrDB": 0, "widthPct": 40, "decayS": 0.5}},
	"plate":     {{"drrDB": 0, "decayS": 0.5}},
	"spring":    {{"drrDB": 0}},
	"fdn":       {{"drrDB": 0, "predelayMS": 20, "widthPct": 0}},
	"echo":      {{"echoDB": 0, "timeMS": 5, "feedbackPct": 95, "lowcutHz": 200, "highcutHz": 3000, "pingpong": 1}},
	"chorus":    {{"mixPct": 100, "voices": 4, "rateHz": 8, "depthMS": 10}},
	"flanger":   {{"mixPct": 100, "feedbackPct": -95, "depthMS": 1, "spreadDeg": 180}},
	"shift":     {{"cents": -1200}, {"cents": 1200}, {"cents": 20}},
	"voice":     {{"cents": -600}, {"cents": 600}, {"cents": 8}},
	"timeshift": {{"shiftMS": -250}, {"shiftMS": 250}, {"shiftMS": -10.01}},
	"limiter":   {{"ceilingDBTP": -20, "lookaheadMS": 0.5, "releaseMS": 10}, {"ceilingDBTP": -6, "lookaheadMS": 10, "releaseMS": 1000}},
}

func TestTable(t *testing.T) {
	word := regexp.MustCompile(`^[a-z][a-z0-9]*$`)
	seen := map[string]bool{}
	for _, s := range rack.All() {
		if seen[s.ID] || !word.MatchString(s.ID) || s.ID == "on" {
			t.Errorf("processor ID %q: must be a word of its own", s.ID)
		}
		seen[s.ID] = true
		if got, ok := rack.Find(s.ID); !ok || got.Name != s.Name {
			t.Errorf("Find(%q) = %q, %v", s.ID, got.Name, ok)
		}
		if !strings.HasSuffix(s.Doc, ".") {
			t.Errorf("%s: Doc %q is not a sentence", s.ID, s.Doc)
		}
		t.Run(s.ID, func(t *testing.T) { dsptest.Check(t, s, special[s.ID]...) })
	}
	for id := range special {
		if !seen[id] {
			t.Errorf("special settings for %q, which is not in the table", id)
		}
	}
}

func TestAllIsACopy(t *testing.T) {
	rack.All()[0].ID = "spoilt"
	if _, ok := rack.Find("spoilt"); ok {
		t.Error("a caller can change the table")
	}
}

// processors is the IDs of all there are, as an error lists them.
func processors() string {
	var ids []string
	for _, s := range rack.All() {
		ids = append(ids, s.ID)
	}
	return strings.Join(ids, ", ")
}

func TestBuild(t *testing.T) {
	chain, err := rack.Build(48000, dsp.Change{Processor: "gain", Setting: dsp.Setting{"gainDB": -6}}, dsp.Change{Processor: "limiter"})
	if err != nil {
		t.Fatal(err)
	}
	if len(chain) != 2 || chain.DelayFrames() == 0 {
		t.Errorf("%d processors, %d frames of delay", len(chain), chain.DelayFrames())
	}
	buf := make([]dsp.Frame, 1000)
	buf[0] = dsp.Frame{0.5, -0.5}
	chain.Process(buf)
	if got := buf[chain.DelayFrames()][0]; math.Abs(got-0.5*0.501187) > 1e-6 {
		t.Errorf("an impulse of 0.5 at −6 dB comes out as %g", got)
	}
	if p, err := rack.Build(48000); err != nil || len(p) != 0 {
		t.Errorf("no changes: %v, %v", p, err)
	}
	for want, c := range map[string]dsp.Change{
		`there is no processor "peek"; there are ` + processors(): {Processor: "peek"},
		"peak: gainDB=30 is outside -24 to 24 dB":                 {Processor: "peak", Setting: dsp.Setting{"gainDB": 30}},
	} {
		if chain, err := rack.Build(48000, c); chain != nil || err == nil || err.Error() != want {
			t.Errorf("Build: %v, %v; want %s", chain, err, want)
		}
	}
}

func TestParse(t *testing.T) {
	for text, want := range map[string]dsp.Change{
		"peak":                                        {Processor: "peak", Setting: dsp.Setting{}},
		"peak freqHz=2k5 gainDB=6dB q=0,7":            {Processor: "peak", Setting: dsp.Setting{"freqHz": 2500, "gainDB": 6, "q": 0.7}},
		" peak\tgainDB=−1.5  freqHz=12.5kHz":          {Processor: "peak", Setting: dsp.Setting{"freqHz": 12500, "gainDB": -1.5}},
		"peak freqHz=1e3":                             {Processor: "peak", Setting: dsp.Setting{"freqHz": 1000}},
		"gain gainDB=-6 on lead vocal":                {Processor: "gain", Setting: dsp.Setting{"gainDB": -6}, Where: "lead vocal"},
		"gain on on":                                  {Processor: "gain", Setting: dsp.Setting{}, Where: "on"},
		"gain gainDB=1 on  piano on the left ":        {Processor: "gain", Setting: dsp.Setting{"gainDB": 1}, Where: "piano on the left"},
		`limiter on " spaced "`:                       {Processor: "limiter", Setting: dsp.Setting{}, Where: " spaced "},
		"limiter ceilingDBTP=-1dBTP releaseMS=50 ms=": {},
	} {
		got, err := rack.Parse(text)
		if want.Processor == "" {
			if err == nil {
				t.Errorf("Parse(%q) = %v, want an error", text, got)
			}
			continue
		}
		if err != nil || !reflect.DeepEqual(got, want) {
			t.Errorf("Parse(%q) = %v, %v; want %v", text, got, err, want)
		}
	}
}

// Every refusal says, in one sentence, what would have been right.
func TestParseRefuses(t *testing.T) {
	for text, want := range map[string]string{
		"":                        `a change begins with the name of a processor, like "peak freqHz=1k gainDB=6"`,
		"on vocals":               `a change begins with the name of a processor, like "peak freqHz=1k gainDB=6"`,
		"peek gainDB=1":           `there is no processor "peek"; there are ` + processors(),
		"peak gain=1":             `there is no parameter "gain"; there are freqHz, gainDB, q`,
		"peak 1k":                 `peak: "1k" is not a value; write values like gainDB=-6`,
		"peak gainDB=1 gainDB=2":  `peak: gainDB is given twice`,
		"peak gainDB=loud":        `peak: gainDB: "loud" is not a number`,
		"peak gainDB=NaN":         `peak: gainDB: "NaN" is not a number`,
		"peak gainDB=":            `peak: gainDB: "" is not a number`,
		"peak freqHz=high":        `peak: freqHz: "high" is not a frequency; write it like 800, 2k5 or 2.5 kHz`,
		"peak gainDB=25":          `peak: gainDB=25 is outside -24 to 24 dB`,
		"peak gainDB=1 on":        `after the word on stands the name of a stem or a group`,
		`peak gainDB=1 on "drums`: `"drums is not a quoted name`,
	} {
		if c, err := rack.Parse(text); err == nil || err.Error() != want {
			t.Errorf("Parse(%q) = %v, %v; want %s", text, c, err, want)
		}
	}
}

func TestTextRoundTrip(t *testing.T) {
	for _, c := range []dsp.Change{
		{Processor: "peak", Setting: dsp.Setting{"q": 1, "freqHz": 1000, "gainDB": 0}},
		{Processor: "peak", Setting: dsp.Setting{"freqHz": 1e3 / 3, "gainDB": -1e-7}},
		{Processor: "gain", Setting: dsp.Setting{}, Where: "back vocals"},
		{Processor: "gain", Setting: dsp.Setting{}, Where: " \"on\"\n "},
		{Processor: "gain", Setting: dsp.Setting{}, Where: "pâte\u2028"},
	} {
		got, err := rack.Parse(rack.Text(c))
		if err != nil || !reflect.DeepEqual(got, c) {
			t.Errorf("%q comes back as %v, %v; was %v", rack.Text(c), got, err, c)
		}
	}
	if got := rack.Text(dsp.Change{Processor: "gone", Setting: dsp.Setting{"b": 2, "a": 1}}); got != "gone a=1 b=2" {
		t.Errorf("a processor that is no more: %q", got)
	}
}

func FuzzParse(f *testing.F) {
	f.Add("peak freqHz=2k5 gainDB=-6 q=1.4 on lead vocal")
	f.Add(`limiter ceilingDBTP=−1dBTP on " a "`)
	f.Fuzz(func(t *testing.T, text string) {
		c, err := rack.Parse(text)
		if err != nil {
			return
		}
		if again, err := rack.Parse(rack.Text(c)); err != nil || !reflect.DeepEqual(again, c) {
			t.Errorf("%q: %v is written %q and comes back as %v, %v", text, c, rack.Text(c), again, err)
		}
	})
}

func ExampleParse() {
	c, err := rack.Parse("peak freqHz=2k5 gainDB=-6dB on lead vocal")
	fmt.Println(c.Processor, c.Setting["freqHz"], c.Setting["gainDB"], c.Where, err)
	fmt.Println(rack.Text(c))
	_, err = rack.Parse("peak freqHz=2k5 gain=-6")
	fmt.Println(err)
	// Output:
	// peak 2500 -6 lead vocal <nil>
	// peak freqHz=2500 gainDB=-6 on lead vocal
	// there is no parameter "gain"; there are freqHz, gainDB, q
}
