package dsptest_test

import (
	"fmt"
	"math"
	"math/cmplx"
	"math/rand/v2"
	"strings"
	"testing"

	"strop/dsp"
	"strop/dsp/dsptest"
)

// recorder is a testing.TB that keeps failures instead of failing.
type recorder struct {
	testing.TB
	failures []string
}

func (r *recorder) Helper() {}
func (r *recorder) Errorf(format string, args ...any) {
	r.failures = append(r.failures, fmt.Sprintf(format, args...))
}

// process is a Processor made of functions.
type process struct {
	run   func(buf []dsp.Frame)
	reset func()
}

func (p process) Process(buf []dsp.Frame) { p.run(buf) }
func (p process) Reset() {
	if p.reset != nil {
		p.reset()
	}
}

// delayed is a process that states a delay.
type delayed struct {
	process
	frames func() int
}

func (d delayed) DelayFrames() int { return d.frames() }

var amount = dsp.Param{ID: "amount", Name: "amount", Min: 0, Max: 1, Neutral: 0}

func spec(build func(amount float64) dsp.Processor) dsp.Spec {
	return dsp.Spec{ID: "test", Name: "test", Doc: "Test.", Source: "none", Params: []dsp.Param{amount},
		Build: func(_ float64, s dsp.Setting) (dsp.Processor, error) { return build(s.Get(amount)), nil }}
}

// each is a spec whose processor treats every sample for itself.
func each(sample func(x, amount float64) float64) dsp.Spec {
	return spec(func(amount float64) dsp.Processor {
		return process{run: func(buf []dsp.Frame) {
			for i := range buf {
				buf[i] = dsp.Frame{sample(buf[i][0], amount), sample(buf[i][1], amount)}
			}
		}}
	})
}

// onePole is y += (1−a)(x−y); what Reset does is for the caller to say.
func onePole(a float64, reset func(y *dsp.Frame)) process {
	var y dsp.Frame
	return process{
		run: func(buf []dsp.Frame) {
			for i, x := range buf {
				for side := range x {
					y[side] += (1 - a) * (x[side] - y[side])
				}
				buf[i] = y
			}
		},
		reset: func() { reset(&y) },
	}
}

func onePoleResponse(rateHz, freqHz float64, s dsp.Setting) complex128 {
	a := 0.9 * s.Get(amount)
	return complex(1-a, 0) / (1 - complex(a, 0)*cmplx.Rect(1, -2*math.Pi*freqHz/rateHz))
}

func goodPole() dsp.Spec {
	s := spec(func(amount float64) dsp.Processor {
		return onePole(0.9*amount, func(y *dsp.Frame) { *y = dsp.Frame{} })
	})
	s.Response = onePoleResponse
	return s
}

// line is a delay line of n frames that states a delay of says frames.
func line(n, says int) dsp.Spec {
	s := spec(func(float64) dsp.Processor {
		held, at := make([]dsp.Frame, n), 0
		return delayed{process{
			run: func(buf []dsp.Frame) {
				for i := range buf {
					buf[i], held[at] = held[at], buf[i]
					at = (at + 1) % n
				}
			},
			reset: func() { clear(held); at = 0 },
		}, func() int { return says }}
	})
	s.Response = func(_, _ float64, _ dsp.Setting) complex128 { return 1 }
	return s
}

func TestCheckAccepts(t *testing.T) {
	dsptest.Check(t, goodPole(), dsp.Setting{"amount": 1})
	dsptest.Check(t, line(100, 100))
	dsptest.Check(t, each(func(x, amount float64) float64 { return x * (1 - amount) }))
	passing := line(5, 0)
	passing.Response = nil
	passing.Path = func(rateHz, freqHz float64, _ dsp.Setting) complex128 {
		return cmplx.Rect(1, -2*math.Pi*5*freqHz/rateHz)
	}
	dsptest.Check(t, passing)
	dsptest.Check(t, crossing(1))
}

// crossing sends amount of the left channel to the right one, and states so
// many times as much.
func crossing(stated float64) dsp.Spec {
	s := spec(func(amount float64) dsp.Processor {
		return process{run: func(buf []dsp.Frame) {
			for i := range buf {
				buf[i][1] += amount * buf[i][0]
			}
		}}
	})
	s.Matrix = func(_, _ float64, s dsp.Setting) [2][2]complex128 {
		return [2][2]complex128{{1, 0}, {complex(stated*s.Get(amount), 0), 1}}
	}
	return s
}

var (
	sink  []dsp.Frame
	calls int
)

// Each of these breaks the contract in one way; Check has to say which.
func TestCheckRejects(t *testing.T) {
	keeps := func(float64) dsp.Processor {
		var last []dsp.Frame
		return process{run: func(buf []dsp.Frame) {
			for i := range buf {
				if len(last) > 0 {
					buf[i][0] += 1e-3 * last[0][0]
				}
			}
			last = buf
		}, reset: func() { last = nil }}
	}
	for name, c := range map[string]struct {
		spec dsp.Spec
		want string
	}{
		"state forgotten at each block": {spec(func(amount float64) dsp.Processor {
			return process{run: func(buf []dsp.Frame) {
				onePole(0.9*amount, nil).run(buf)
			}}
		}), "split into blocks"},
		"fade over each block": {spec(func(amount float64) dsp.Processor {
			return process{run: func(buf []dsp.Frame) {
				for i := range buf {
					buf[i][0] *= 1 - amount*float64(i)/float64(len(buf))
				}
			}}
		}), "split into blocks"},
		"reads the setting later": {dsp.Spec{ID: "test", Name: "test", Doc: "Test.", Source: "none", Params: []dsp.Param{amount},
			Build: func(_ float64, s dsp.Setting) (dsp.Processor, error) {
				return process{run: func(buf []dsp.Frame) { dsp.Gain(1 - s.Get(amount)).Process(buf) }}, nil
			}}, "setting after building"},
		"keeps the buffer": {spec(keeps), "keeps something of the buffer"},
		"writes beyond the end": {spec(func(float64) dsp.Processor {
			return process{run: func(buf []dsp.Frame) {
				if cap(buf) > len(buf) {
					buf[:len(buf)+1][len(buf)][0] += 1
				}
			}}
		}), "outside the buffer"},
		"shares state": {each(func(x, amount float64) float64 {
			calls++
			return x * (1 + amount*float64(calls%7))
		}), "another one built alike"},
		"global random source": {each(func(x, amount float64) float64 { return x + amount*rand.Float64() }), "another one built alike"},
		"Reset does nothing": {spec(func(amount float64) dsp.Processor {
			return onePole(0.9*amount, func(*dsp.Frame) {})
		}), "after sound Reset"},
		"Reset multiplies by zero": {spec(func(amount float64) dsp.Processor {
			return onePole(0.9*amount, func(y *dsp.Frame) { y[0], y[1] = y[0]*0, y[1]*0 })
		}), "after infinities and NaN Reset"},
		"divides silence by itself": {each(func(x, amount float64) float64 { return x / math.Abs(x) * math.Abs(x) }), "silence makes frame"},
		"inverts denormals": {each(func(x, amount float64) float64 {
			if x == 0 {
				return 0
			}
			return x * (1 / math.Abs(x)) * math.Abs(x)
		}), "denormals makes frame"},
		"blows up when overloaded": {each(func(x, amount float64) float64 { return x + amount*math.Exp(x) }), "overload makes frame"},
		"allocates": {spec(func(float64) dsp.Processor {
			return process{run: func(buf []dsp.Frame) { sink = append([]dsp.Frame(nil), buf...) }}
		}), "allocates"},
		"cannot take an empty buffer": {spec(func(float64) dsp.Processor {
			return process{run: func(buf []dsp.Frame) { buf[0][0] *= 1 }}
		}), "panics"},
		"neutral is not neutral": {each(func(x, amount float64) float64 { return x * 1.00001 }), "residue of -100.0 dB"},
		"delay not stated":       {line(5, 0), "residue"},
		"delay too long":         {line(5, 6), "residue"},
		"delay changes": {spec(func(float64) dsp.Processor {
			n := 0
			return delayed{process{run: func(buf []dsp.Frame) { n++ }}, func() int { return n }}
		}), "states a delay of 0 frames, later 1"},
		"response of another filter": {func() dsp.Spec {
			s := goodPole()
			s.Response = func(rateHz, freqHz float64, s dsp.Setting) complex128 {
				return onePoleResponse(rateHz, freqHz*1.0001, s)
			}
			return s
		}(), "response at"},
		"matrix of another crossing": {crossing(1.001), "response at"},
		"path of another delay": {func() dsp.Spec {
			s := line(5, 0)
			s.Response = nil
			s.Path = func(rateHz, freqHz float64, _ dsp.Setting) complex128 {
				return cmplx.Rect(1, -2*math.Pi*6*freqHz/rateHz)
			}
			return s
		}(), "response at"},
		"path that colours": {func() dsp.Spec {
			s := each(func(x, _ float64) float64 { return 0.5 * x })
			s.Path = func(_, _ float64, _ dsp.Setting) complex128 { return 0.5 }
			return s
		}(), "must be 1"},
		"channels crossed": {func() dsp.Spec {
			s := spec(func(float64) dsp.Processor {
				return process{run: func(buf []dsp.Frame) {
					for i, f := range buf {
						buf[i] = dsp.Frame{f[1], f[0]}
					}
				}}
			})
			s.Response = func(_, _ float64, _ dsp.Setting) complex128 { return 1 }
			return s
		}(), "response at"},
		"never dies away": {func() dsp.Spec {
			s := spec(nil)
			s.Build = func(rateHz float64, s dsp.Setting) (dsp.Processor, error) {
				if rateHz != 44100 || s.Get(amount) != 0 {
					return nil, fmt.Errorf("no")
				}
				sum := 0.0
				return process{run: func(buf []dsp.Frame) {
					for i := range buf {
						sum += buf[i][0]
						buf[i][0] = sum
					}
				}, reset: func() { sum = 0 }}, nil
			}
			s.Response = func(_, _ float64, _ dsp.Setting) complex128 { return 1 }
			return s
		}(), "does not die away"},
		"not declared": {dsp.Spec{ID: "test"}, "declaration"},
		"refuses everything but neutral": {dsp.Spec{ID: "test", Name: "test", Doc: "Test.", Source: "none", Params: []dsp.Param{amount},
			Build: func(_ float64, s dsp.Setting) (dsp.Processor, error) {
				if s.Get(amount) != 0 {
					return nil, fmt.Errorf("no")
				}
				return dsp.Gain(1), nil
			}}, "refuses every setting"},
	} {
		var r recorder
		dsptest.Check(&r, c.spec)
		if !strings.Contains(strings.Join(r.failures, "\n"), c.want) {
			t.Errorf("%s: Check does not say %q; it says %q", name, c.want, r.failures)
		}
	}
}

func TestCheckRejectsGivenSetting(t *testing.T) {
	var r recorder
	dsptest.Check(&r, goodPole(), dsp.Setting{"amount": 2})
	if len(r.failures) != len(dsptest.Rates) || !strings.Contains(r.failures[0], "cannot be built") {
		t.Errorf("an impossible setting: %q", r.failures)
	}
}
