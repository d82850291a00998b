package demo

import (
	"fmt"
	"strings"
)

// people are invented patients of one language: first and second names that are
// combined.
type people struct {
	language      string
	first, second []string
}

// allPeople are the languages of the demo's patients, the clinic's own as often as
// the others together.
var allPeople = []people{
	{"en", []string{"Ansel", "Bettina", "Corin", "Dagny", "Emlyn", "Fleur", "Gideon", "Hanne", "Idris", "Juno"}, []string{"Birchall", "Crayfield", "Dunmoor", "Ellwater", "Farrowby", "Greenhythe", "Hollowell", "Inskerry"}},
	{"es", []string{"Álvaro", "Begoña", "Nuria", "Íñigo", "Rocío", "Tomás"}, []string{"Riofrío", "Campoazul", "Montesol", "Peñalara"}},
	{"en", []string{"Kester", "Lettice", "Merrin", "Nessa", "Orrin", "Perdita", "Quentin", "Rowena", "Silvan", "Tamsin"}, []string{"Kettlewick", "Larkspar", "Merrowdale", "Netherby", "Oakenfold", "Pennarth", "Quayle-Moor", "Rushbourne"}},
	{"de", []string{"Jörg", "Käthe", "Lüder", "Wiebke", "Friedrun", "Götz"}, []string{"Tannenbühl", "Grünwaldt", "Seeäcker", "Weißenhagen"}},
	{"en", []string{"Ulric", "Verity", "Wystan", "Yseult", "Zander", "Averil", "Brannoc", "Cerys", "Delphine", "Evander"}, []string{"Stillwater", "Thornquist", "Underhay", "Vellacourt", "Westerbrook", "Yarrowdene", "Ashmere", "Brackenby"}},
	{"fr", []string{"Aurèle", "Béatrix", "Célestin", "Élodie", "Ghislain", "Mahaut"}, []string{"Boisclair-Vallée", "Rivebelle", "Chêneraie", "Montfleury"}},
	{"en", []string{"Fenella", "Garrick", "Hesper", "Isolde", "Jocasta", "Kelvin", "Lorcan", "Morwenna", "Niall", "Odette"}, []string{"Coldbrook", "Dovedale", "Elmsworth", "Fairlight", "Gorsefield", "Hartsease", "Ivybridge", "Kingsferry"}},
	{"pl", []string{"Bożena", "Łucja", "Mieszko", "Stanisława", "Zdzisław", "Światopełk"}, []string{"Brzozowiec", "Dębogórska", "Źródlak", "Wiśnicz"}},
}

// person returns the name and the language of the nth patient. No two of the first
// two hundred have one name.
func person(n int) (name, language string) {
	p := allPeople[n%len(allPeople)]
	n /= len(allPeople)
	first, second := p.first[n%len(p.first)], p.second[(n+n/len(p.first))%len(p.second)]
	return first + " " + second, p.language
}

// phone is a telephone number that is nobody's, between the clinic's own two.
func phone(n int) string {
	const numbers = 98
	return fmt.Sprintf("+353 1 555 0%03d", 101+n%numbers)
}

// plain writes the letters of the demo's names in ASCII.
var plain = strings.NewReplacer(
	"Á", "a", "Í", "i", "É", "e", "Ł", "l", "Ś", "s", "Ź", "z", "á", "a", "ä", "ae", "é", "e", "è", "e", "ê", "e", "í", "i", "ñ", "n", "ó", "o", "ö", "oe", "ü", "ue", "ß", "ss",
	"ż", "z", "ł", "l", "ę", "e", "ś", "s", "ź", "z", "ć", "c", " ", ".", "'", "")

// mailAddress is an address of a patient at a domain that RFC 2606, section 3,
// reserves for examples.
func mailAddress(name string, n int) string {
	domains := []string{"example.com", "example.org"}
	return strings.ToLower(plain.Replace(name)) + "@" + domains[n%len(domains)]
}
