package pages

import (
	"fmt"
	"slices"
	"strings"
	"unicode"

	"example.com/stance/cmd/stance/web/pages/records"
	"example.com/stance/cmd/stance/web/pages/sight"
)

// whom finds the residents whom a typed number, room or name fits: "101", "r101" and "R 101" fit R-101, and "412" fits
// R-0412. More than one is for the writer to choose from: a note held against another resident's chart is worse than
// one held against none. That a number fits does not keep a room of the same figures from fitting too.
func whom(all []records.Resident, typed string) []records.Resident {
	want := squeezed(typed)
	if want == "" {
		return nil
	}
	named := strings.Fields(strings.ToLower(typed))
	return slices.DeleteFunc(slices.Clone(all), func(r records.Resident) bool {
		room := squeezed(r.Room)
		return !fitsNumber(squeezed(r.ID), want) && (room == "" || want != room && want != "room"+room) && !fitsName(r.Name, named)
	})
}

// fitsNumber reports whether a number typed means an id: the same but for zeros in front of the figures or, where only
// figures are typed, the same figures at its end. Both are squeezed.
func fitsNumber(id, typed string) bool {
	letters, figures := parted(id)
	l, f := parted(typed)
	return f == figures && (l == letters || l == "" && f != "")
}

// parted is what stands before the figures at the end, and the figures without zeros in front.
func parted(squeezed string) (letters, figures string) {
	letters = strings.TrimRight(squeezed, "0123456789")
	figures = strings.TrimLeft(squeezed[len(letters):], "0")
	if figures == "" && len(letters) < len(squeezed) {
		figures = "0"
	}
	return letters, figures
}

// fitsName reports whether each word typed begins a word of the name, another one each.
func fitsName(name string, typed []string) bool {
	left := strings.Fields(strings.ToLower(name))
	for _, w := range typed {
		i := slices.IndexFunc(left, func(of string) bool { return len(w) > 1 && strings.HasPrefix(of, w) })
		if i < 0 {
			return false
		}
		left = slices.Delete(left, i, i+1)
	}
	return true
}

// squeezed is letters and figures alone, in lower case.
func squeezed(s string) string {
	return strings.Map(func(r rune) rune {
		if !unicode.IsLetter(r) && !unicode.IsNumber(r) {
			return -1
		}
		return unicode.ToLower(r)
	}, s)
}

// settle takes the resident whom the typed words mean. Where they fit none or several, it says so, and nobody is meant.
func settle(look *sight.Sight, t *typed) {
	if t.Sought == "" {
		return
	}
	t.Resident = t.Sought
	switch fit := whom(look.Residents(), t.Sought); len(fit) {
	case 0:
	case 1:
		t.Resident = fit[0].ID
	default:
		const most = 6
		t.Resident = ""
		t.Unclear = fmt.Sprintf("%d residents fit what you typed. Choose one in the list.", len(fit))
		for _, r := range fit[:min(len(fit), most)] {
			t.Fits = append(t.Fits, choice{Value: r.ID, Name: called(r)})
		}
	}
}

// called is the id with what the chart calls the resident by: "R-101 · room 12 · Ash Fern".
func called(r records.Resident) string {
	if also := also(r); also != "" {
		return r.ID + " · " + also
	}
	return r.ID
}

// also is the room and the name, where the chart has them.
func also(r records.Resident) string {
	var parts []string
	if r.Room != "" {
		room := r.Room
		if unicode.IsDigit([]rune(room)[0]) {
			room = "room " + room
		}
		parts = append(parts, room)
	}
	if r.Name != "" {
		parts = append(parts, r.Name)
	}
	return strings.Join(parts, " · ")
}
