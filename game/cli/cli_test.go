package cli_test

import (
	"bytes"
	"encoding/json"
	"math"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"time"
	"unicode"

	"strop/content"
	"strop/content/wav"
	"strop/drills"
	"strop/drills/tools"
	"strop/dsp"
	"strop/dsp/measure"
	"strop/game/cli"
)

// asProgram makes the test binary behave as strop itself.
const asProgram = "STROP_TEST_DATA_DIR"

func TestMain(m *testing.M) {
	if dir := os.Getenv(asProgram); dir != "" {
		os.Exit(cli.Main(os.Args[1:], cli.SystemEnv(dir)))
	}
	os.Exit(m.Run())
}

// call runs one command line in a data folder, with a clock that moves by a
// second whenever it is looked at.
func call(t *testing.T, dataDir, input string, args ...string) (code int, stdout, stderr string) {
	t.Helper()
	at := time.Date(2026, 3, 2, 7, 30, 0, 0, time.UTC)
	var out, errs bytes.Buffer
	code = cli.Main(args, cli.Env{
		Stdin: strings.NewReader(input), Stdout: &out, Stderr: &errs, DataDir: dataDir, Seed: 1,
		Clock: func() time.Time { at = at.Add(time.Second); return at },
	})
	return code, out.String(), errs.String()
}

// must is call where the command has to succeed.
func must(t *testing.T, dataDir, input string, args ...string) string {
	t.Helper()
	code, stdout, stderr := call(t, dataDir, input, args...)
	if code != 0 {
		t.Fatalf("strop %s: exit code %d: %s", strings.Join(args, " "), code, stderr)
	}
	return stdout
}

// songFile is 24 s of pulsed pink noise as a WAV file: a beat, and all bands.
func songFile(t *testing.T, name string) string {
	t.Helper()
	const rateHz = 48000
	frames := make([]dsp.Frame, 24*rateHz)
	dsp.NewPink(rateHz, 11).Fill(frames)
	for i := range frames {
		decay := 0.05 + 0.3*math.Exp(-float64(i%(rateHz/2))/6000)
		frames[i][0] *= decay
		frames[i][1] *= decay
	}
	return writeSong(t, name, frames)
}

func writeSong(t *testing.T, name string, frames []dsp.Frame) string {
	t.Helper()
	path := filepath.Join(t.TempDir(), name)
	f, err := os.Create(path)
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	w, err := wav.NewWriter(f, wav.WriteFormat{RateHz: 48000, Channels: 2, Sample: wav.Int24})
	if err != nil {
		t.Fatal(err)
	}
	if err := w.Write(frames); err != nil {
		t.Fatal(err)
	}
	if err := w.Close(); err != nil {
		t.Fatal(err)
	}
	return path
}

func exported(t *testing.T, dataDir string) (records []drills.Record) {
	t.Helper()
	if err := json.Unmarshal([]byte(must(t, dataDir, "", "export", "--json")), &records); err != nil {
		t.Fatal(err)
	}
	return records
}

const script = "3\n800\n2k5\nc\nm\n\nu\nr\nl\n?\nhello\n0\n5\n1\nq\n"

// The same seed and the same lines give the same records, to the letter.
func TestScriptedSittingRepeats(t *testing.T) {
	song := songFile(t, "song.wav")
	var first string
	for range 2 {
		dir := t.TempDir()
		text := opened(must(t, dir, script, "text", "--silent", "--seed", "42", "--trials", "8", "--material", song))
		records := must(t, dir, "", "export", "--json")
		if first == "" {
			first = records + text
		}
		if records+text != first {
			t.Error("a second sitting with the same seed differs")
		}
		if got := exported(t, dir); len(got) != 6 {
			t.Errorf("%d records, want 6", len(got))
		}
	}
}

// opened is a text without the lines that tell how far a song is opened: a slow
// machine has more of them.
func opened(text string) (rest string) {
	for line := range strings.Lines(text) {
		if !strings.HasPrefix(line, "Opening ") {
			rest += line
		}
	}
	return rest
}

// What is printed can be read aloud: lines of printing characters.
func TestTextIsPlain(t *testing.T) {
	text := must(t, t.TempDir(), script, "text", "--silent", "--seed", "42", "--material", songFile(t, "song.wav"))
	for _, r := range text {
		if r != '\n' && !unicode.IsPrint(r) {
			t.Fatalf("the text holds %q", r)
		}
	}
	for _, want := range []string{"Trial 1 of 20.", "Which band was", "Playing: untouched.", "Playing: mine.", "harms hearing"} {
		if !strings.Contains(text, want) {
			t.Errorf("the text lacks %q", want)
		}
	}
}

// A tool that is turned: the first line is what is meant, each further one is
// heard, ok answers with the last.
func TestTurning(t *testing.T) {
	dir := t.TempDir()
	text := must(t, dir, "400 -3\nm\nu\n1k -6 1.4\ngainDB=-4 freqHz=900\nok\n\nq\n",
		"text", "--silent", "--seed", "5", "--trials", "2", "--drill", "make-eq", "--material", songFile(t, "song.wav"))
	got := exported(t, dir)
	if len(got) != 1 {
		t.Fatalf("%d records, want 1:\n%s", len(got), text)
	}
	a := got[0].Answer
	if a.Intent["freqHz"] != 400 || a.Intent["gainDB"] != -3 || a.Guess["freqHz"] != 900 || a.Guess["gainDB"] != -4 {
		t.Errorf("meant %v, turned to %v", a.Intent, a.Guess)
	}
	if _, ok := got[0].Score.Errors[drills.RemainsDB]; !ok {
		t.Errorf("what remains is not told: %v", got[0].Score)
	}
	if !strings.Contains(text, "Playing: mine, frequency 1 kHz, gain −6.0 dB, Q 1.4.") {
		t.Error(text)
	}
}

// The list of the drills says of each what the table says.
func TestDrillsAreListed(t *testing.T) {
	var rows []struct {
		ID, Title, ToolType, Unit, Source string
		Ladder                            struct{ Easy, Hard float64 }
		Ways                              []struct{ ID string }
	}
	if err := json.Unmarshal([]byte(must(t, t.TempDir(), "", "drills", "--json")), &rows); err != nil {
		t.Fatal(err)
	}
	plain := must(t, t.TempDir(), "", "drills")
	all := tools.All()
	if len(rows) != len(all) {
		t.Fatalf("%d rows for %d drills", len(rows), len(all))
	}
	for i, r := range rows {
		if r.ID != all[i].ID || r.Title == "" || r.ToolType == "" || r.Unit == "" || r.Source == "" || len(r.Ways) == 0 || r.Ladder.Easy <= r.Ladder.Hard {
			t.Errorf("row %+v", r)
		}
		if !strings.Contains(plain, r.ID) {
			t.Errorf("the list lacks %s", r.ID)
		}
	}
}

func TestEndOfInputKeepsEverything(t *testing.T) {
	dir := t.TempDir()
	must(t, dir, "2\n3", "text", "--silent", "--seed", "1", "--material", songFile(t, "song.wav"))
	if got := exported(t, dir); len(got) != 2 {
		t.Errorf("%d records, want 2", len(got))
	}
}

// The files of a trial are what was played: equally loud within 0.1 LU
// (ITU-R BS.1770), and the record says by how much they differ.
func TestOutFolder(t *testing.T) {
	dir, out := t.TempDir(), filepath.Join(t.TempDir(), "sides")
	must(t, dir, "1\n2\n", "text", "--silent", "--seed", "3", "--out", out, "--material", songFile(t, "song.wav"))
	records := exported(t, dir)
	for i, r := range records {
		prefix := filepath.Join(out, "trial 0"+string(rune('1'+i))+" ")
		untouched, changed, mine := lufsOf(t, prefix+"untouched.wav"), lufsOf(t, prefix+"changed.wav"), lufsOf(t, prefix+"mine.wav")
		if math.Abs(changed-untouched) > 0.1 || math.Abs(mine-untouched) > 0.1 {
			t.Errorf("trial %d: untouched %.2f, changed %.2f, mine %.2f LUFS", i+1, untouched, changed, mine)
		}
		if math.Abs(changed-untouched-r.Trial.ResidualLU) > 0.001 {
			t.Errorf("trial %d: the record says %.3f LU, the files %.3f", i+1, r.Trial.ResidualLU, changed-untouched)
		}
	}
	if len(records) != 2 {
		t.Errorf("%d records", len(records))
	}
}

func framesOf(t *testing.T, path string) ([]dsp.Frame, float64) {
	t.Helper()
	f, err := content.Open(path)
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	frames := make([]dsp.Frame, f.Format().Frames)
	n := 0
	for n < len(frames) {
		got, ok := f.Stream(frames[n:])
		n += got
		if !ok {
			break
		}
	}
	return frames[:n], f.Format().RateHz
}

func lufsOf(t *testing.T, path string) float64 {
	frames, rateHz := framesOf(t, path)
	return measure.IntegratedLUFS(frames, rateHz)
}

// A cut of 14 dB at 500 Hz takes 14.0 dB off a steady 500 Hz tone (common
// practice, no source), and --match gives the loudness back.
func TestRenderMeasuresWhatItSays(t *testing.T) {
	tone := make([]dsp.Frame, 8*48000)
	for i := range tone {
		v := 0.5 * math.Sin(2*math.Pi*500*float64(i)/48000)
		tone[i] = dsp.Frame{v, v}
	}
	in, out := writeSong(t, "tone.wav", tone), filepath.Join(t.TempDir(), "out.wav")
	must(t, t.TempDir(), "", "render", in, out, "--change", "peak freqHz=500 gainDB=-14 q=1")
	frames, _ := framesOf(t, out)
	if got := measure.RMSDBFS(frames[48000:]) - measure.RMSDBFS(tone[48000:]); math.Abs(got+14) > 0.05 {
		t.Errorf("the tone fell by %.3f dB", -got)
	}
	must(t, t.TempDir(), "", "render", in, out, "--match", "--change", "peak freqHz=500 gainDB=-14 q=1", "--change", "gain gainDB=3")
	if got := lufsOf(t, out) - lufsOf(t, in); math.Abs(got) > 0.05 {
		t.Errorf("matched, and %.3f LU apart", got)
	}
	f, err := content.Open(out)
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	if format := f.Format(); format.Codec != "float" || format.Bits != 32 || format.Frames != int64(len(tone)) {
		t.Errorf("wrote %+v", format)
	}
}

func TestMeasureJSON(t *testing.T) {
	var got map[string]any
	if err := json.Unmarshal([]byte(must(t, t.TempDir(), "", "measure", songFile(t, "song.wav"), "--json")), &got); err != nil {
		t.Fatal(err)
	}
	for _, key := range []string{"integratedLUFS", "maxMomentaryLUFS", "maxShortTermLUFS", "loudnessRangeLU",
		"truePeakDBTP", "samplePeakDBFS", "correlation", "durationS", "rateHz", "channels"} {
		if _, ok := got[key].(float64); !ok {
			t.Errorf("%s is %v", key, got[key])
		}
	}
	if bands, _ := got["thirdOctaves"].([]any); len(bands) != dsp.ThirdOctaves {
		t.Errorf("%d third-octave bands", len(bands))
	}
	if got["durationS"] != 24.0 || got["channels"] != 2.0 || got["rateHz"] != 48000.0 {
		t.Errorf("%v s, %v channels, %v Hz", got["durationS"], got["channels"], got["rateHz"])
	}
}

// 0: done. 1: the world was wrong, one sentence. 2: the call was wrong.
func TestExitCodes(t *testing.T) {
	song := songFile(t, "song.wav")
	out := filepath.Join(t.TempDir(), "out.wav")
	for _, c := range []struct {
		want int
		args []string
	}{
		{0, []string{"--help"}},
		{0, []string{"doctor"}},
		{0, []string{"doctor", "--json"}},
		{0, []string{"progress"}},
		{0, []string{"progress", "--json"}},
		{0, []string{"export"}},
		{1, []string{"measure", filepath.Join(t.TempDir(), "gone.wav")}},
		{1, []string{"text", "--silent", "--material", filepath.Join(t.TempDir(), "gone.wav")}},
		{1, []string{"render", song, filepath.Join(out, "no", "such", "folder.wav"), "--change", "gain gainDB=1"}},
		{1, []string{"progress", "--picture", filepath.Join(t.TempDir(), "p.svg")}},
		{2, []string{"polish"}},
		{2, []string{"measure"}},
		{2, []string{"text", "--trials", "0"}},
		{2, []string{"text", "--trials", "many"}},
		{2, []string{"text", "--way", "nine"}},
		{2, []string{"text", "--drill", "nine"}},
		{2, []string{"text", "--transducer", "bone"}},
		{2, []string{"render", song, out, "--change", "peak freqHz=loud"}},
		{2, []string{"render", song, out, "--change", "peak freqHz=1k gainDB=99"}},
		{2, []string{"render", song, out, "--change", "nonesuch"}},
		{2, []string{"render", song, song, "--change", "gain gainDB=1"}},
		{2, []string{"render", song, out, "--format", "mp3"}},
	} {
		code, _, stderr := call(t, t.TempDir(), "", c.args...)
		if code != c.want {
			t.Errorf("strop %s: exit code %d, want %d: %s", strings.Join(c.args, " "), code, c.want, stderr)
		}
		if c.want != 0 && (strings.Count(stderr, "\n") != 1 || !strings.HasPrefix(stderr, "strop: ")) {
			t.Errorf("strop %s: not one sentence: %q", strings.Join(c.args, " "), stderr)
		}
	}
	if _, err := os.Stat(out); err == nil {
		t.Error("a call that was wrong left a file")
	}
}

// Every kind of file that is no material gets one sentence that names it.
func TestHostileMaterial(t *testing.T) {
	folder := t.TempDir()
	good, err := os.ReadFile(songFile(t, "song.wav"))
	if err != nil {
		t.Fatal(err)
	}
	files := map[string][]byte{
		"empty.wav":  nil,
		"text.wav":   []byte("this is a letter, not a song\n"),
		"head.wav":   good[:40],
		"cut.wav":    good[:30000],
		"silent.wav": append(slices.Clone(good[:len(good)-24*48000*6]), make([]byte, 24*48000*6)...),
		"junk.mp3":   bytes.Repeat([]byte{0xFF, 0x00, 0xFB}, 5000),
		"long.wav":   threeHours(),
	}
	for name, data := range files {
		path := filepath.Join(folder, name)
		if err := os.WriteFile(path, data, 0o666); err != nil {
			t.Fatal(err)
		}
		if name == "long.wav" {
			if err := os.Truncate(path, int64(len(data))+3*3600*8000); err != nil {
				t.Fatal(err)
			}
		}
		code, _, stderr := call(t, t.TempDir(), "1\n", "text", "--silent", "--material", path)
		if code != 1 || strings.Count(stderr, "\n") != 1 || !strings.Contains(stderr, name) {
			t.Errorf("%s: exit code %d: %q", name, code, stderr)
		}
		if name == "cut.wav" && !strings.Contains(stderr, "ends early") {
			t.Errorf("%s is not said to be cut off: %q", name, stderr)
		}
		t.Log(strings.TrimSpace(stderr))
	}
	if code, _, stderr := call(t, t.TempDir(), "", "text", "--silent", "--material", folder); code != 1 || strings.Count(stderr, "\n") != 1 {
		t.Errorf("a folder: exit code %d: %q", code, stderr)
	}
}

// threeHours is the head of a WAV file of 3 h, 8 kHz, 8 bit, mono.
func threeHours() []byte {
	const n = 3 * 3600 * 8000
	head := []byte("RIFF\x00\x00\x00\x00WAVEfmt \x10\x00\x00\x00\x01\x00\x01\x00\x40\x1f\x00\x00\x40\x1f\x00\x00\x01\x00\x08\x00data\x00\x00\x00\x00")
	for at, size := range map[int]uint32{4: n + 36, 40: n} {
		head[at], head[at+1], head[at+2], head[at+3] = byte(size), byte(size>>8), byte(size>>16), byte(size>>24)
	}
	return head
}

// A truncated song is practised on as far as it goes.
func TestTruncatedMaterialIsUsable(t *testing.T) {
	path := songFile(t, "song.wav")
	if err := os.Truncate(path, 48000*6*15); err != nil {
		t.Fatal(err)
	}
	dir := t.TempDir()
	text := must(t, dir, "1\n2\n", "text", "--silent", "--material", path)
	if len(exported(t, dir)) != 2 || !strings.Contains(text, "only the first 0:15") {
		t.Errorf("%d records of:\n%s", len(exported(t, dir)), text)
	}
}

// Material is remembered by path and content: without --material the last is
// taken, and one that was moved is asked for.
func TestMovedMaterialIsAskedFor(t *testing.T) {
	dir, path := t.TempDir(), songFile(t, "night bus.wav")
	must(t, dir, "1\n", "text", "--silent", "--material", path)
	if text := must(t, dir, "1\n", "text", "--silent"); !strings.Contains(text, "night bus.wav") {
		t.Error("the material used last was forgotten")
	}
	moved := filepath.Join(t.TempDir(), "moved.wav")
	if err := os.Rename(path, moved); err != nil {
		t.Fatal(err)
	}
	text := must(t, dir, filepath.Join(t.TempDir(), "wrong.wav")+"\n"+moved+"\n2\n", "text", "--silent")
	if !strings.Contains(text, "Where is it now?") || !strings.Contains(text, "trials on moved.wav") {
		t.Errorf("a moved file was not asked for:\n%s", text)
	}
	records := exported(t, dir)
	if len(records) != 3 || records[2].Trial.Loop.Material != records[0].Trial.Loop.Material {
		t.Error("the moved file is not the same material")
	}
}
