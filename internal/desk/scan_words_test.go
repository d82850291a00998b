package desk_test

import (
	"errors"
	"io/fs"
	"reflect"
	"slices"
	"strings"
	"sync"
	"unicode"

	"go.yaml.in/yaml/v3"

	"graftclock/internal/casefile"
	"graftclock/internal/evidence"
	"graftclock/internal/protocol"
	"graftclock/internal/table"
	"graftclock/templates"
)

// plainWords are, by language, words of every day that the trade uses too. A patient's
// file may use those of the patient's language, and English ones where it has no words.
// Each is read and allowed by a person; one that no file uses any more, or that the trade
// does not, is a fault.
var plainWords = map[string]map[string]bool{"en": setOf(strings.Fields(`
	a an the to of in is it if and at as do us we you your all with into off on no not yet has have will where
	appointment book booked call clinic phone draft plan approved new time old moved come comes cannot please longer
	open mail put calendar answer emergency letter dates along file asked write tell stop this move take out
`)), "es": setOf(strings.Fields(`
	a abra ahora al antes aprobado archivo aun borrador calendario cambiar carta cita clinica con correo darle de
	dudas emergencia en es esta este favor fechas ha la las le llamaremos llame lo los mas no nos para paramos plan
	poner por puede si su telefono tiene un una y ya
`)), "de": setOf(strings.Fields(`
	an auf aus bei bekommen bitte brief dann datei den der die diese dieser e einen entwurf es fallt fragen
	freigegeben gilt haben hangt ihr ihrem ihren im in ist kalender kein keine kommen kommt konnen mail mehr mit
	neue nicht noch notfall offnen plan rufen sie so telefon termin terminen und uns vereinbaren wir wird wollen
`)), "fr": setOf(strings.Fields(`
	a agenda appellerons avec avez avons brouillon cas ce change changer courriel d dans dates de donne du en
	encore est et fixe fixer jour l le les lettre merci mettre n ne nous nouveau ou ouvrez pas plan plus pour
	rendez si telephone une urgence valide votre vous
`)), "pl": setOf(strings.Fields(`
	aby do dodac dzien e gdy jest jeszcze kalendarza list mail miejsce mozna na nie nowy o otworzyc prosze sie
	stary szkic telefon ten termin tym umowiona ustalic usunac w wizyta wizyte wizyty z zadzwonic zadzwonimy
	zatwierdzony
`))}

// shownToAll are the sections of a language's words that stand in neutral entries and
// in mails. All other words of the letter tell of the operation.
var shownToAll = []string{"language", "dates", "entry", "mail"}

// tradeWords are, for patients of each language, all words in which the program can speak
// of an operation, folded: its record format, its rules with what they cite, its
// bibliography and its letters in English and in that language. A word that is added to
// any of them is looked for from then on.
var tradeWords = sync.OnceValue(func() map[string]map[string]bool {
	all := map[string]map[string]bool{}
	for _, language := range languages() {
		all[language] = map[string]bool{}
		for _, texts := range [][]string{shapeTexts(casefile.Record()), textsIn(protocol.Default().All()), textsIn(titles()), letterTexts("en"), letterTexts(language)} {
			addWords(all[language], texts...)
		}
	}
	return all
})

// tradePhrases are the words of the record format that are made of several, for those
// of which each alone is an everyday word.
var tradePhrases = sync.OnceValue(func() []string {
	var all []string
	walkShape("", casefile.Record(), func(_ string, s table.Shape) {
		for _, word := range s.Words {
			if parts := wordsOf(fold(word)); len(parts) > 1 {
				all = append(all, strings.Join(parts, " "))
			}
		}
	})
	return all
})

func titles() []string {
	var list []string
	for _, s := range evidence.All() {
		list = append(list, s.Title)
	}
	return list
}

func shapeTexts(s table.Shape) []string {
	var list []string
	walkShape("", s, func(path string, s table.Shape) {
		list = append(append(list, path, s.Doc), s.Words...)
	})
	return list
}

// walkShape visits every place of a format: "sinuses[].graft.additive".
func walkShape(path string, s table.Shape, visit func(string, table.Shape)) {
	visit(path, s)
	for _, f := range s.Fields {
		walkShape(strings.TrimPrefix(path+"."+f.Key, "."), f.Shape, visit)
	}
	if s.Of != nil {
		walkShape(path+"[]", *s.Of, visit)
	}
	for _, e := range s.Either {
		walkShape(path, e, visit)
	}
}

// languages are those that have words, by the folders of their templates.
func languages() []string {
	folders, err := fs.Glob(templates.Files, "letter/*/words.yaml")
	if err != nil {
		panic(err)
	}
	for i, f := range folders {
		folders[i] = strings.Split(f, "/")[1]
	}
	return folders
}

// wordsFiles are the words of every language as its file has them.
var wordsFiles = sync.OnceValue(func() map[string]tree {
	all := map[string]tree{}
	for _, language := range languages() {
		data, err := templates.Files.ReadFile("letter/" + language + "/words.yaml")
		var words tree
		if err = errors.Join(err, yaml.Unmarshal(data, &words)); err != nil {
			panic(err)
		}
		all[language] = words
	}
	return all
})

// openWords are the words of a language's neutral entries and mails.
func openWords(language string) map[string]bool {
	all := map[string]bool{}
	for _, section := range shownToAll {
		addWords(all, textsIn(wordsFiles()[language][section])...)
	}
	return all
}

func letterTexts(language string) []string {
	var list []string
	for section, words := range wordsFiles()[language] {
		if !slices.Contains(shownToAll, section) {
			list = append(list, textsIn(words)...)
		}
	}
	return list
}

// textsIn lists all text in a value, however deep.
func textsIn(value any) []string {
	var list []string
	collect(reflect.ValueOf(value), &list)
	return list
}

func collect(v reflect.Value, list *[]string) {
	switch v.Kind() {
	case reflect.String:
		*list = append(*list, v.String())
	case reflect.Pointer, reflect.Interface:
		if !v.IsNil() {
			collect(v.Elem(), list)
		}
	case reflect.Slice, reflect.Array:
		for i := range v.Len() {
			collect(v.Index(i), list)
		}
	case reflect.Map:
		for _, key := range v.MapKeys() {
			collect(key, list)
			collect(v.MapIndex(key), list)
		}
	case reflect.Struct:
		for i := range v.NumField() {
			collect(v.Field(i), list)
		}
	}
}

func setOf(list []string) map[string]bool {
	set := map[string]bool{}
	for _, text := range list {
		set[text] = true
	}
	return set
}

func addWords(set map[string]bool, texts ...string) {
	for _, text := range texts {
		for _, word := range wordsOf(fold(text)) {
			set[word] = true
		}
	}
}

// unaccented are the letters of Latin scripts without their marks.
var unaccented = strings.NewReplacer("ą", "a", "ć", "c", "ę", "e", "ł", "l", "ś", "s", "ź", "z", "ż", "z", "œ", "oe", "à", "a", "á", "a", "â", "a", "ã", "a", "ä", "a", "å", "a", "ā", "a", "æ", "ae", "ç", "c", "č", "c", "è", "e", "é", "e", "ê", "e", "ë", "e",
	"ì", "i", "í", "i", "î", "i", "ï", "i", "ñ", "n", "ń", "n", "ò", "o", "ó", "o", "ô", "o", "õ", "o", "ö", "o", "ø", "o", "š", "s", "ß", "ss", "ù", "u", "ú", "u", "û", "u", "ü", "u", "ý", "y", "ž", "z")

// fold returns text in one line of small letters without marks.
func fold(text string) string {
	return unaccented.Replace(strings.ToLower(strings.Join(strings.Fields(text), " ")))
}

// wordsOf lists the words of folded text. Digits are no part of a word.
func wordsOf(text string) []string {
	return strings.FieldsFunc(text, func(r rune) bool { return !unicode.IsLetter(r) && !unicode.IsMark(r) })
}

// numbersOf lists the numbers of text, in any script.
func numbersOf(text string) []string {
	return strings.FieldsFunc(text, func(r rune) bool { return !unicode.IsNumber(r) })
}

// squeezed is folded text without what stands between its letters and digits, so that
// HR-2041, hr_2041 and HR2041 are the same. A gap stays.
func squeezed(text string) string {
	return strings.Map(func(r rune) rune {
		if r == gap || unicode.IsLetter(r) || unicode.IsMark(r) || unicode.IsNumber(r) {
			return r
		}
		return -1
	}, text)
}
