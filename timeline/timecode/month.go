package timecode

import (
	"strings"
	"time"
)

// months are the months' names and usual short forms in English, Spanish, French
// and German, in lower case.
var months = monthNames(
	"january enero janvier januar jänner jan ene janv",
	"february febrero février fevrier februar feb févr fév fevr fev",
	"march marzo mars märz maerz mar mär mrz",
	"april abril avril apr abr avr",
	"may mayo mai may",
	"june junio juin juni jun",
	"july julio juillet juli jul juil",
	"august agosto août aout aug ago",
	"september septiembre setiembre septembre sep sept set",
	"october octubre octobre oktober oct okt",
	"november noviembre novembre nov",
	"december diciembre décembre decembre dezember dec dic déc dez",
)

func monthNames(lists ...string) map[string]time.Month {
	names := map[string]time.Month{}
	for i, list := range lists {
		for _, name := range strings.Fields(list) {
			names[name] = time.Month(i + 1)
		}
	}
	return names
}
