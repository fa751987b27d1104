package job

import (
	"slices"
	"strings"
	"unicode"

	"golang.org/x/text/unicode/norm"

	"pushcue/timeline/jobsheet"
)

// An Unsaid is what a reader who isn't the customer isn't told: how to reach the
// customer. The zero value is nothing.
type Unsaid struct{ Customer jobsheet.Contact }

// KeepsBack reports whether a kind of files, "spoken" or "photo", isn't for the buyer.
func (j *Job) KeepsBack(kind string) bool {
	b := j.Sheet.Buyer
	return j.Ask.For == ForBuyer && map[string]string{"spoken": b.Spoken, "photo": b.Photos}[kind] == "drop"
}

// In finds contact data in a text: whole is what stands there as in the job sheet,
// part a word of the customer's name.
func (u Unsaid) In(text string) (whole, part string) {
	plain := folded(text)
	for _, known := range []string{u.Customer.Name, u.Customer.Email, u.Customer.Address} {
		if k := folded(known); k != "" && strings.Contains(plain, k) {
			return known, ""
		}
	}
	const least = 6 // digits; fewer may be anything
	if number := digits(u.Customer.Phone); len(number) >= least && strings.Contains(digits(text), number) {
		return u.Customer.Phone, ""
	}
	words := strings.FieldsFunc(plain, func(r rune) bool { return !unicode.IsLetter(r) })
	for _, name := range strings.Fields(u.Customer.Name) {
		if len([]rune(name)) > 3 && slices.Contains(words, folded(name)) {
			return "", name
		}
	}
	return "", ""
}

func folded(s string) string {
	return strings.ToLower(strings.Join(strings.Fields(norm.NFC.String(s)), " "))
}

func digits(s string) string {
	return strings.Map(func(r rune) rune {
		if '0' <= r && r <= '9' {
			return r
		}
		return -1
	}, s)
}

const ForBuyer = "buyer"
