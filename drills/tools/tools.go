// Package tools is the drills: one file for each, and the table of all.
package tools

import (
	"fmt"
	"slices"

	"strop/drills"
)

// All is the table of every drill, in the order of mixing.
func All() []drills.Tool {
	return []drills.Tool{
		faultDrill(humFault()),
		faultDrill(buzzFault()),
		faultDrill(hissFault()),
		faultDrill(rumbleFault()),
		faultDrill(clippingFault()),
		faultDrill(clicksFault()),
		faultDrill(dropoutFault()),
		faultDrill(combFault()),
		faultDrill(wowFault()),
		faultDrill(codecFault()),
		faultDrill(plosiveFault()),
		faultDrill(sibilanceFault()),
		faultDrill(distanceFault()),
		faultDrill(breathFault()),
		faultKind(),
		faultStem(),
		faultSize(),
		levelWhole(),
		levelStem(),
		balance(),
		makeLevel(),
		pan(),
		widthMix(),
		widthStem(),
		depth(),
		makePan(),
		eqBand(),
		eqGain(),
		eqWidth(),
		eqWay(),
		eqShape(),
		lowCut(),
		highCut(),
		twoMoves(),
		resonance(),
		roomForVoice(),
		makeEQ(),
		compressedDrill(),
		reductionAmount(),
		ratioDrill(),
		attackDrill(),
		releaseDrill(),
		kneeDrill(),
		characterDrill(),
		pumpDrill(),
		overDrill(),
		gateDrill(),
		deEssDrill(),
		limiterDrill(),
		parallelDrill(),
		makeComp(),
		decayDrill(),
		predelayDrill(),
		amountDrill(),
		spaceKind(),
		dampingDrill(),
		echoDrill(),
		echoNote(),
		feedbackDrill(),
		reverbStem(),
		micPolarity(),
		micDelay(),
		micHowDrill(),
		combDepth(),
		monoFold(),
		correlation(),
		wideKind(),
		makeDelay(),
		makePolarity(),
		saturationAmount(),
		saturationKind(),
		clippedOrLimited(),
		saturationStem(),
		bitReduction(),
		tuning(),
		tuneLayer(),
		makePitch(),
		timing(),
		timeGrid(),
		timeLayer(),
		mixAttribute(),
		mixInsert(),
		mixCrowded(),
		maskPair(),
	}
}

// usualNothing is the share of trials without a change where nothing says
// otherwise. Common practice, no source.
const usualNothing = 0.1

// Daily is the ID of the drill that is practised where none is asked for.
func Daily() string { return eqBand().ID }

// Newcomers is the table in the order in which a newcomer meets the drills:
// one of each tool type, then the next of each.
func Newcomers() (order []drills.Tool) {
	var types []string
	byType := map[string][]drills.Tool{}
	for _, t := range append([]drills.Tool{eqBand(), levelStem()}, All()...) {
		if slices.ContainsFunc(byType[t.Type], func(u drills.Tool) bool { return u.ID == t.ID }) {
			continue
		}
		if byType[t.Type] == nil {
			types = append(types, t.Type)
		}
		byType[t.Type] = append(byType[t.Type], t)
	}
	for len(types) > 0 {
		types = slices.DeleteFunc(types, func(kind string) bool {
			order = append(order, byType[kind][0])
			byType[kind] = byType[kind][1:]
			return len(byType[kind]) == 0
		})
	}
	return order
}

// Find is the drill with that ID.
func Find(id string) (drills.Tool, error) {
	all := All()
	i := slices.IndexFunc(all, func(t drills.Tool) bool { return t.ID == id })
	if i < 0 {
		return drills.Tool{}, fmt.Errorf("there is no drill %q; strop drills lists them all", id)
	}
	return all[i], nil
}
