package exchange

import (
	"fmt"
	"math"
	"slices"
	"time"

	"strop/drills"
)

// mostLetters is how long a name in a record may be.
const mostLetters = 1000

// What no record is without, and what is never below 0.
var (
	needed      = []string{"session", "tool", "rung", "transducer", "heard"}
	neverBelow0 = []string{"rateHz", "tookS", "soloS", "audibleDB", "chance", "roveDB"}
)

// check reports what no sitting could have given.
func check(r drills.Record) error {
	for i, cell := range cells(&r) {
		if err := checkCell(columns[i], cell); err != nil {
			return err
		}
	}
	return nil
}

func checkCell(name string, cell any) error {
	switch c := cell.(type) {
	case *time.Time:
		if y := c.Year(); y < 1970 || y > 2261 {
			return fmt.Errorf("it was answered in the year %d", y)
		}
	case *string:
		if *c == "" && slices.Contains(needed, name) {
			return fmt.Errorf("%s is empty", name)
		}
		if len(*c) > mostLetters {
			return fmt.Errorf("%s is too long", name)
		}
	case *int:
		if *c < 0 {
			return fmt.Errorf("%s is %d", name, *c)
		}
	case *float64:
		if math.IsNaN(*c) || math.IsInf(*c, 0) || *c < 0 && slices.Contains(neverBelow0, name) {
			return fmt.Errorf("%s is %g", name, *c)
		}
	case *numbers:
		return checkNumbers(name, *c)
	}
	return nil
}

func checkNumbers(name string, n numbers) error {
	for id, v := range n {
		if id == "" || len(id) > mostLetters || math.IsNaN(v) || math.IsInf(v, 0) {
			return fmt.Errorf("%s holds a number that cannot be", name)
		}
	}
	return nil
}
