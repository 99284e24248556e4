package policy

import (
	"errors"
	"fmt"
	"io"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"time"

	"go.yaml.in/yaml/v3"

	"example.com/stance/lexicon"
	"example.com/stance/lint/bounded"
	"example.com/stance/lint/chart"
	"example.com/stance/lint/finding"
	"example.com/stance/lint/nearest"
	"example.com/stance/lint/shift"
)

// maxSize bounds a policy file, in bytes. A long one has some hundred lines.
const maxSize = bounded.MiB

// Read reads a policy file over the defaults. name is how errors call it. An error has the form
// "name:line: what is wrong: what was expected" and, for an unknown key, rule, concept or value,
// names the nearest known one. All that is wrong with the file is reported at once, one a line.
// An empty file is the default policy.
func Read(name string, r io.Reader, known Known) (*Policy, error) {
	data, err := bounded.All(r, maxSize)
	if err != nil {
		return nil, fmt.Errorf("%s: reading policy: %w", name, err)
	}
	root, err := parse(name, data)
	if err != nil {
		return nil, err
	}
	p := Default()
	if root == nil {
		return p, nil
	}
	d := &decoder{name: name, known: known, policy: p}
	d.file(root)
	if err := errors.Join(d.faults...); err != nil {
		return nil, err
	}
	return p, nil
}

// yamlLine finds the place in an error of the YAML parser.
var yamlLine = regexp.MustCompile(`^yaml: (?:line (\d+): )?(.*)$`)

// parse is the top node of the one YAML document in data; nil where there is none.
func parse(name string, data []byte) (*yaml.Node, error) {
	dec := yaml.NewDecoder(strings.NewReader(string(data)))
	var doc, next yaml.Node
	err := dec.Decode(&doc)
	if err == nil {
		if again := dec.Decode(&next); again != io.EOF {
			if again == nil {
				return nil, fmt.Errorf("%s:%d: want one YAML document", name, next.Line)
			}
			err = again
		}
	}
	switch {
	case err == io.EOF:
		return nil, nil
	case err != nil:
		line, what := "1", err.Error()
		if m := yamlLine.FindStringSubmatch(what); m != nil {
			what = m[2]
			if m[1] != "" {
				line = m[1]
			}
		}
		return nil, fmt.Errorf("%s:%s: want YAML: %s", name, line, what)
	}
	root := resolve(doc.Content[0])
	if isNull(root) {
		return nil, nil
	}
	return root, nil
}

// decoder walks the nodes of one policy file and notes every fault.
type decoder struct {
	name   string
	known  Known
	policy *Policy
	faults []error
}

func (d *decoder) fault(n *yaml.Node, format string, args ...any) {
	d.faults = append(d.faults, fmt.Errorf("%s:%d: %s", d.name, n.Line, fmt.Sprintf(format, args...)))
}

// A key is one entry that a mapping may have.
type key struct {
	name string
	read func(*yaml.Node)
}

func (d *decoder) file(root *yaml.Node) {
	p := d.policy
	d.mapping("policy", root, []key{
		{"zone", d.zone},
		{"shifts", d.shifts},
		{"lift_helpers", func(n *yaml.Node) {
			i, err := strconv.Atoi(scalar(n))
			if err != nil || i < 1 || i > 9 {
				d.fault(n, "lift_helpers: want a whole number from 1 to 9")
				return
			}
			p.LiftHelpers = i
		}},
		{"lift_helpers_from", d.liftHelpersFrom},
		{"settings", d.settings},
		{"windows", func(n *yaml.Node) {
			d.mapping("windows", n, []key{
				{"change", d.duration("windows: change", &p.ChangeWindow)},
				{"copied", d.duration("windows: copied", &p.CopiedWindow)},
			})
		}},
		{"copied_share", func(n *yaml.Node) {
			if f, ok := number(n); ok && f > 0 && f <= 1 {
				p.CopiedShare = f
				return
			}
			d.fault(n, "copied_share: want a number above 0 and up to 1, such as 0.9")
		}},
		{"pressure", func(n *yaml.Node) {
			d.mapping("pressure", n, []key{
				{"systolic", d.pressure("systolic", &p.SystolicDrop)},
				{"diastolic", d.pressure("diastolic", &p.DiastolicDrop)},
			})
		}},
		{"caps", func(n *yaml.Node) {
			d.mapping("caps", n, []key{
				{"toe-touch", d.cap("toe-touch", &p.ToeTouchCap)},
				{"partial", d.cap("partial", &p.PartialCap)},
			})
		}},
		{"rules", d.rules},
		{"words", d.words},
		{"roles", d.roles},
		{"codes", d.codes},
		{"drafts", func(n *yaml.Node) {
			switch v := Drafts(scalar(n)); v {
			case DraftsOff, DraftsShift:
				p.Drafts = v
			default:
				d.fault(n, "drafts: want off or shift")
			}
		}},
	})
}

// mapping reads the entries of n; a key that is none of keys, or stands twice, is a fault.
func (d *decoder) mapping(what string, n *yaml.Node, keys []key) {
	names := make([]string, len(keys))
	for i, k := range keys {
		names[i] = k.name
	}
	for k, v := range d.entries(what, n) {
		i := slices.Index(names, k.Value)
		if i < 0 {
			d.unknown(k, what+": key", k.Value, names)
			continue
		}
		keys[i].read(v)
	}
}

// entries yields the keys and values of the mapping n, which may be empty, in the order of the file.
func (d *decoder) entries(what string, n *yaml.Node) func(yield func(k, v *yaml.Node) bool) {
	return func(yield func(k, v *yaml.Node) bool) {
		if isNull(n) {
			return
		}
		if n.Kind != yaml.MappingNode {
			d.fault(n, "%s: want keys with values, one a line", what)
			return
		}
		first := make(map[string]int)
		for i := 0; i+1 < len(n.Content); i += 2 {
			k, v := resolve(n.Content[i]), resolve(n.Content[i+1])
			if k.Kind != yaml.ScalarNode || k.Value == "" {
				d.fault(k, "%s: want a word as the key", what)
				continue
			}
			if line, ok := first[k.Value]; ok {
				d.fault(k, "%s: key %q stands on line %d too: want it once", what, k.Value, line)
				continue
			}
			first[k.Value] = k.Line
			if !yield(k, v) {
				return
			}
		}
	}
}

// unknown reports a word that is none of the known ones: the nearest of them, or all where none is near.
func (d *decoder) unknown(n *yaml.Node, what, word string, known []string) {
	if near, ok := nearest.Of(word, known); ok {
		d.fault(n, "%s %q is unknown: nearest is %q", what, word, near)
		return
	}
	const most = 16 // more would hide the message
	list := strings.Join(known[:min(len(known), most)], ", ")
	if len(known) > most {
		list += ", …"
	}
	d.fault(n, "%s %q is unknown: want one of %s", what, word, list)
}

func (d *decoder) zone(n *yaml.Node) {
	s := scalar(n)
	zone, err := time.LoadLocation(s)
	if s == "" || err != nil {
		d.fault(n, "zone %q is unknown: want a name of the time zone database, such as America/Toronto or UTC", s)
		return
	}
	d.policy.Zone = zone
}

func (d *decoder) shifts(n *yaml.Node) {
	before := len(d.faults)
	shifts := make(map[string]string)
	for k, v := range d.entries("shifts", n) {
		s := scalar(v)
		if _, err := shift.ParseStart(s); err != nil {
			d.fault(v, "shift %q: %v", k.Value, err)
			continue
		}
		shifts[k.Value] = s
	}
	if len(d.faults) > before {
		return
	}
	if _, err := shift.NewCalendar(shifts, d.policy.Zone); err != nil {
		d.fault(n, "%v", err)
		return
	}
	d.policy.Shifts = shifts
}

func (d *decoder) duration(what string, to *time.Duration) func(*yaml.Node) {
	return func(n *yaml.Node) {
		v, ok := parseDuration(scalar(n))
		if !ok {
			d.fault(n, "%s: want a time such as 24h or 14d", what)
			return
		}
		*to = v
	}
}

// parseDuration reads a whole number of hours or days above 0, up to ten years.
func parseDuration(s string) (time.Duration, bool) {
	unit := time.Hour
	digits, ok := strings.CutSuffix(s, "h")
	if !ok {
		unit = 24 * time.Hour
		digits, ok = strings.CutSuffix(s, "d")
	}
	i, err := strconv.ParseUint(digits, 10, 32)
	const most = 10 * 365 * 24 * time.Hour
	if !ok || err != nil || i == 0 || i > uint64(most/unit) {
		return 0, false
	}
	return time.Duration(i) * unit, true
}

func (d *decoder) pressure(what string, to *float64) func(*yaml.Node) {
	return func(n *yaml.Node) {
		if f, ok := number(n); ok && f > 0 && f <= 100 {
			*to = f
			return
		}
		d.fault(n, "pressure: %s: want mmHg above 0 and up to 100", what)
	}
}

func (d *decoder) cap(what string, to *float64) func(*yaml.Node) {
	return func(n *yaml.Node) {
		if f, ok := number(n); ok && f >= 0 && f <= 1 {
			*to = f
			return
		}
		d.fault(n, "caps: %s: want a share of body weight from 0 to 1, such as 0.5", what)
	}
}

func (d *decoder) rules(n *yaml.Node) {
	severities := []string{string(finding.Off), string(finding.Hint), string(finding.Warning), string(finding.Error)}
	for k, v := range d.entries("rules", n) {
		if !slices.Contains(d.known.Rules, k.Value) {
			d.unknown(k, "rule", k.Value, d.known.Rules)
			continue
		}
		s := scalar(v)
		if !slices.Contains(severities, s) {
			d.fault(v, "rule %s: severity %q is unknown: want off, hint, warning or error", k.Value, s)
			continue
		}
		d.policy.Rules[k.Value] = finding.Severity(s)
	}
}

func (d *decoder) liftHelpersFrom(n *yaml.Node) {
	if n.Kind != yaml.SequenceNode {
		d.fault(n, "lift_helpers_from: want a list, such as [family, student]")
		return
	}
	from := []Helper{}
	for _, v := range n.Content {
		v = resolve(v)
		s := scalar(v)
		if !slices.Contains(helpers(), s) {
			d.unknown(v, "lift_helpers_from: group", s, helpers())
			continue
		}
		from = append(from, Helper(s))
	}
	d.policy.LiftHelpersFrom = from
}

func (d *decoder) settings(n *yaml.Node) {
	known := []string{string(Facility), string(HomeCare)}
	for k, v := range d.entries("settings", n) {
		s := scalar(v)
		if !slices.Contains(known, s) {
			d.unknown(v, fmt.Sprintf("unit %q: setting", k.Value), s, known)
			continue
		}
		if d.policy.Settings == nil {
			d.policy.Settings = make(map[string]Setting)
		}
		d.policy.Settings[k.Value] = Setting(s)
	}
}

// codes reads what codes of FHIR say in a chart.
func (d *decoder) codes(n *yaml.Node) {
	d.policy.Codes = make(chart.Codes)
	for k, v := range d.entries("codes", n) {
		system, code, ok := strings.Cut(k.Value, "|")
		if !ok || system == "" || code == "" {
			d.fault(k, "code %q: want a system, a bar and a code, as in http://snomed.info/sct|62013009", k.Value)
			continue
		}
		cells := make(map[string]string)
		for col, value := range d.entries(fmt.Sprintf("code %q", k.Value), v) {
			cell := scalar(value)
			if wrong := chart.CheckCell(col.Value, cell); wrong != "" {
				d.fault(value, "code %q: %s", k.Value, wrong)
				continue
			}
			cells[col.Value] = cell
		}
		if len(cells) == 0 && isNull(v) {
			d.fault(v, "code %q: want what it says in a chart, as in {left_leg: nwb}", k.Value)
			continue
		}
		d.policy.Codes[k.Value] = cells
	}
}

func (d *decoder) roles(n *yaml.Node) {
	roles := []string{string(lexicon.CareWorker), string(lexicon.Nurse), string(lexicon.Therapist),
		string(lexicon.Doctor), string(lexicon.OtherRole)}
	for k, v := range d.entries("roles", n) {
		s := scalar(v)
		if !slices.Contains(roles, s) {
			d.unknown(v, fmt.Sprintf("title %q: role", k.Value), s, roles)
			continue
		}
		d.policy.Roles[k.Value] = lexicon.Role(s)
	}
}

// words reads the home's own terms. A value is a concept id, or a mapping of it and of fields of
// the statement that the term gives.
func (d *decoder) words(n *yaml.Node) {
	for k, v := range d.entries("words", n) {
		w := lexicon.Word{Term: k.Value}
		what := fmt.Sprintf("word %q", k.Value)
		concept := v
		if v.Kind == yaml.MappingNode {
			concept = nil
			keys := []key{{"concept", func(n *yaml.Node) { concept = n }}}
			for _, f := range fields() {
				keys = append(keys, key{f.name, func(n *yaml.Node) {
					value := scalar(n)
					if !slices.Contains(f.values, value) {
						d.fault(n, "%s: %s: want one of %s", what, f.name, strings.Join(f.values, ", "))
						return
					}
					if w.Fields == nil {
						w.Fields = make(map[string]string)
					}
					w.Fields[f.name] = value
				}})
			}
			d.mapping(what, v, keys)
		}
		switch {
		case concept == nil, scalar(concept) == "":
			d.fault(v, "%s: want a concept id, such as aid.total-lift", what)
		case !slices.Contains(d.known.Concepts, concept.Value):
			d.unknown(concept, what+": concept", concept.Value, d.known.Concepts)
		default:
			w.Concept = concept.Value
			d.policy.Words = append(d.policy.Words, w)
		}
	}
}

// A field is one field of a statement that a term can give, and the values that it takes.
type field struct {
	name   string
	values []string
}

func fields() []field {
	return []field{
		{"limb", []string{"leg", "arm"}},
		{"side", []string{"left", "right", "both"}},
		{"staff", []string{"0", "1", "2", "3", "4", "5", "6", "7", "8", "9"}},
		{"assist", []string{"independent", "supervision", "standby", "contact-guard", "minimum", "moderate", "maximum", "dependent"}},
		{"method", []string{"pivot", "side-by-side", "board", "sit-stand-lift", "total-lift", "lift"}},
		{"to", []string{"bed", "chair", "wheelchair", "toilet", "commode", "floor", "shower", "bath", "car", "stretcher", "edge-of-bed"}},
		{"posture", []string{"lying", "sitting", "standing"}},
	}
}

// scalar is the value as written; empty for a list or a mapping.
func scalar(n *yaml.Node) string {
	if n.Kind != yaml.ScalarNode || isNull(n) {
		return ""
	}
	return n.Value
}

func number(n *yaml.Node) (float64, bool) {
	f, err := strconv.ParseFloat(scalar(n), 64)
	return f, err == nil
}

func isNull(n *yaml.Node) bool { return n.Kind == yaml.ScalarNode && n.Tag == "!!null" }

// resolve follows an alias to the node that it stands for.
func resolve(n *yaml.Node) *yaml.Node {
	if n.Kind == yaml.AliasNode {
		return n.Alias
	}
	return n
}
