package desk_test

import (
	"fmt"
	"math/rand/v2"
	"slices"
	"strings"
	"testing"
	"time"

	"go.yaml.in/yaml/v3"

	"graftclock/internal/casefile"
	"graftclock/internal/day"
	"graftclock/internal/graft"
	"graftclock/internal/table"
)

// formatWords are the words that the record format allows at each of its places.
func formatWords() map[string][]string {
	all := map[string][]string{}
	walkShape("", casefile.Record(), func(path string, s table.Shape) {
		all[path] = append(all[path], s.Words...)
		for _, n := range s.Only {
			all[path] = append(all[path], fmt.Sprint(n))
		}
	})
	return all
}

// inventor makes up records out of the demo's: their words, teeth, sides and names, and
// what was found since.
type inventor struct {
	t      *testing.T
	random *rand.Rand
	words  map[string][]string
	made   int
	seen   map[string]int // how often a word stood at a place of a record
}

func newInventor(t *testing.T, seed uint64) *inventor {
	return &inventor{t, rand.New(rand.NewPCG(seed, 6)), formatWords(), 0, map[string]int{}}
}

type tree = map[string]any

// record makes a record that the reader takes. What contradicts itself is thrown away.
func (v *inventor) record(demo string) ([]byte, casefile.Case) {
	v.t.Helper()
	for range 100 {
		root := v.invented(demo)
		record := casefile.Write(root)
		c, faults := casefile.ReadCase("record", record)
		if len(faults) == 0 {
			v.made++
			v.sees("", root)
			return record, c
		}
	}
	v.t.Fatalf("no record could be made out of %s", demo)
	return nil, casefile.Case{}
}

// sees counts the words that stand in a record.
func (v *inventor) sees(path string, value any) {
	switch value := value.(type) {
	case tree:
		for key, below := range value {
			v.sees(strings.TrimPrefix(path+"."+key, "."), below)
		}
	case []any:
		for _, below := range value {
			v.sees(path+"[]", below)
		}
	default:
		v.seen[path+"="+fmt.Sprint(value)]++
	}
}

// word is one that the format allows at a place.
func (v *inventor) word(path string) string {
	return v.words[path][v.random.IntN(len(v.words[path]))]
}

// often reports true in so many of a hundred cases.
func (v *inventor) often(percent int) bool { return v.random.IntN(100) < percent }

// name is of no language, and of six letters at least.
func (v *inventor) name() string {
	name := ""
	for range 3 + v.random.IntN(2) {
		name += string("zvkxjqw"[v.random.IntN(7)]) + string("aeiou"[v.random.IntN(5)])
	}
	return strings.ToUpper(name[:1]) + name[1:]
}

func (v *inventor) invented(name string) tree {
	_, data := demo(v.t, name+".yaml")
	var root tree
	if err := yaml.Unmarshal(data, &root); err != nil {
		v.t.Fatal(err)
	}
	surgery := day.New(2027, time.January, 4).AddDays(v.random.IntN(700))
	root["case"] = fmt.Sprintf([]string{"HR-%d", "%d/B", "K%d", "Case %d"}[v.random.IntN(4)], 2000+v.random.IntN(7000))
	root["patient"] = v.patient(surgery)
	root["surgery"] = tree{"day": surgery.String(), "surgeon": "Dr " + v.name(), "sutures": v.word("surgery.sutures")}
	sinuses := root["sinuses"].([]any)
	swap := v.often(50)
	for _, s := range sinuses {
		v.sinus(s.(tree), swap, len(sinuses) == 1)
	}
	root["findings"] = v.findings(sinuses, surgery)
	return root
}

func (v *inventor) patient(surgery day.Day) tree {
	p := tree{
		"name": v.name() + " " + oddName(v.random), "print": v.word("patient.print"), "calendar_detail": v.word("patient.calendar_detail"),
		"language": append(languages(), "en-GB", "en-IE", "en-US", "fi")[v.random.IntN(len(languages())+4)],
	}
	var flags []any
	for _, flag := range v.words["patient.flags[]"] {
		if v.often(25) {
			flags = append(flags, flag)
		}
	}
	p["flags"] = flags
	if v.often(70) {
		p["mail"] = tree{"address": strings.ToLower(v.name()) + "@post.example", "agreed": surgery.AddDays(-30).String(), "letter": v.often(50)}
	}
	if v.often(70) {
		p["phone"] = fmt.Sprintf("+%d 1 555 %04d", 900+v.random.IntN(90), v.random.IntN(10000))
	}
	if v.often(30) {
		away := surgery.AddDays(v.random.IntN(200))
		p["unavailable"] = []any{away.String() + ".." + away.AddDays(v.random.IntN(20)).String()}
	}
	return p
}

// sinus changes one side, and its teeth with it. Apart, its implants may carry
// restorations of their own.
func (v *inventor) sinus(s tree, swap, apart bool) {
	if swap {
		s["side"] = map[any]string{"right": "left", "left": "right"}[s["side"]]
	}
	s["health"] = "clear"
	if v.often(10) {
		s["health"] = v.word("sinuses[].health")
	}
	if v.often(40) {
		s["approach"] = v.word("sinuses[].approach")
	}
	if s["approach"] == string(graft.Transcrestal) {
		delete(s, "window")
	}
	s["perforation"] = "none"
	if v.often(40) {
		s["perforation"] = tree{"size_mm": 1 + v.random.IntN(12), "repaired": v.often(60)}
	}
	if v.often(5) {
		s["outcome"] = string(graft.Aborted)
		delete(s, "implants")
	}
	if w, has := s["window"].(tree); has {
		w["lid"] = v.word("sinuses[].window.lid")
	}
	if g, has := s["graft"].(tree); has {
		g["material"], g["additive"] = v.word("sinuses[].graft.material"), v.word("sinuses[].graft.additive")
	}
	if list, has := s["implants"].([]any); has {
		v.implants(list, fmt.Sprint(s["side"]), apart)
	}
}

// implants gives implants other teeth of their side, in the same order.
func (v *inventor) implants(list []any, side string, apart bool) {
	var teeth []int
	for _, word := range v.words["sinuses[].implants[].tooth"] {
		var tooth int
		fmt.Sscan(word, &tooth)
		if string(graft.SideOfTooth(tooth)) == side {
			teeth = append(teeth, tooth)
		}
	}
	v.random.Shuffle(len(teeth), func(i, j int) { teeth[i], teeth[j] = teeth[j], teeth[i] })
	teeth = teeth[:len(list)]
	slices.Sort(teeth)
	restoration := v.restoration(side)
	for n, i := range list {
		i := i.(tree)
		i["tooth"], i["restoration"] = teeth[n], restoration
		if apart && v.often(3) {
			i["restoration"] = v.restoration(side)
		}
		if v.often(40) {
			i["placed"] = v.word("sinuses[].implants[].placed")
		}
		delete(i, "insertion_torque_ncm")
		delete(i, "loading")
		if i["placed"] == string(graft.WithTheGraft) {
			i["insertion_torque_ncm"], i["loading"] = 15+v.random.IntN(30), "protected"
			if v.often(5) {
				i["loading"] = v.word("sinuses[].implants[].loading")
			}
			if v.often(5) {
				i["insertion_torque_ncm"] = v.word("sinuses[].implants[].insertion_torque_ncm")
			}
		}
		if v.often(8) {
			i["closure"] = v.word("sinuses[].implants[].closure")
		}
	}
}

func (v *inventor) restoration(side string) string {
	return side + " " + []string{"bridge", "molar", "premolar crown"}[v.random.IntN(3)] + " " + v.name()
}

// findings are what was found after the surgery, mostly nothing.
func (v *inventor) findings(sinuses []any, surgery day.Day) []any {
	var list []any
	for range max(0, v.random.IntN(6)-3) {
		what := v.word("findings[].what")
		if (what == string(graft.Infection) || what == string(graft.GraftRemoved)) && v.often(60) {
			what = string(graft.Image) // the others leave little to give out
		}
		s := sinuses[v.random.IntN(len(sinuses))].(tree)
		f := tree{"what": what, "day": surgery.AddDays(v.random.IntN(300)).String()}
		switch graft.Observed(what) {
		case graft.Stability:
			implants, has := s["implants"].([]any)
			if !has {
				continue
			}
			f["tooth"], f["isq"] = implants[v.random.IntN(len(implants))].(tree)["tooth"], 45+v.random.IntN(40)
		case graft.Infection, graft.GraftRemoved:
			f["side"] = s["side"]
		case graft.LatePerforation:
			f["side"], f["size_mm"], f["repaired"] = s["side"], 1+v.random.IntN(9), v.often(50)
		case graft.Image:
			f["result"], f["shows"] = v.word("findings[].result"), "cloudy floor "+v.name()
		case graft.Attended, graft.LeftOut:
			f["step"] = v.word("findings[].step")
		}
		list = append(list, f)
	}
	return list
}
