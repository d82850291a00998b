package reading

import (
	"strings"
	"testing"
)

// The tables are common knowledge of each language, divided by hand as a dictionary
// divides or, in French and English, as the word is spoken.
var divided = map[string]string{
	"en": `
		the cat stitch-es bleed bleeds bled gums jaw tooth teeth nose blow blows si-nus im-plant im-plants
		ta-ble ta-bles lit-tle bot-tle bub-ble a-cre med-i-cine u-su-al-ly sur-geon sur-ger-y care-ful care-less-ly
		hope-ful-ness move-ment safe-ly safe-ty nine-ty life-time some-thing some-one home-work fore-head
		closed o-pened healed need-ed start-ed hat-ed called filled box-es pla-ces nurs-es wash-es ma-chines clothes
		ra-di-o me-di-a pa-tient pa-tients spe-cial na-tion na-tions ques-tion de-ci-sion re-gion on-ion li-on
		sci-ence qui-et di-et hap-pi-er ear-li-est car-ri-er cash-ier chief field pier
		cre-ate i-de-a re-act re-al-i-ty the-a-ter o-cean bread great eat eas-y clean crea-ture
		go-ing be-ing do-ing see-ing play-ing stud-y-ing play-er buy-er king ring-ing
		vid-e-o peo-ple mu-se-um fu-el cru-el flu-id ru-in fruit suit guide guess queue u-su-al Jan-u-ar-y
		po-et po-em toe shoe does co-op-er-ate boat boot spas-m rhyth-m crit-i-cis-m
		league vague ar-gue tech-nique rescue=2 val-ue blue eye dye bye
		busi-ness don't did-n't could-n't is-n't can't we'll it-'ll nurse-'s sur-geon's you're`,
	"es": `
		a-é-re-o po-e-ta le-er te-a-tro ca-os o-es-te co-op-te-ro hé-ro-e a-or-ta ó-se-o
		pei-ne ai-re cau-sa deu-da boi-na hoy ley rey muy es-toy vi-rrey
		pia-no vie-jo la-bio cua-tro sue-lo cuo-ta ciu-dad cui-da-do viu-da rui-do je-sui-ta
		u-ru-gua-yo pa-ra-guay buey a-pre-ciáis lim-piéis guau
		dí-a pa-ís ma-íz ba-úl re-ír o-ír tí-o grú-a ac-tú-a Ma-rí-a ca-í-da e-go-ís-mo re-ú-ne
		can-ción a-diós tam-bién des-pués mur-cié-la-go cuí-de-se béis-bol náu-ti-co
		que-so qui-tar gue-rra gui-ta-rra ver-güen-za pin-güi-no a-gua a-guan-tar an-ti-guo
		pro-hi-bir=2 ahu-mar a-hí bú-ho al-co-hol mo-ho za-na-ho-ria
		yo-yo pla-ya a-yu-dar y hay cie-lo guion truhan
		ci-ru-gí-a im-plan-te san-gra-do en-cí-a na-riz mue-la dien-te ra-dio-gra-fí-a tra-ta-mien-to san-gre in-fla-ma-ción`,
	"de": `
		das Haus die Häu-ser heu-te neu-e Steu-er Bau-er Ei-er schrei-en Mai Bay-ern Haa-re See Boot
		Tier vier hier lie-gen zie-hen Knie Fa-mi-lie Li-nie Fe-ri-en Bak-te-ri-en Ar-te-rie Stu-die stu-die-ren
		Bat-te-rie Al-ler-gie All-er-gi-en The-ra-pie Pa-ti-ent Pa-ti-en-ten Hy-gi-e-ne spe-zi-ell fi-nan-zi-ell viel-leicht
		In-fek-ti-on O-pe-ra-ti-on Re-gi-on Ra-di-o Stu-di-o Ja-nu-ar Feb-ru-ar ak-tu-ell Si-tu-a-ti-on
		The-a-ter Mu-se-um Ju-bi-lä-um I-deen=3 I-dee Seen=2 Di-ät Po-et Ru-i-ne na-iv Mo-sa-ik Pro-te-in Ste-ro-id
		be-ach-ten be-en-den be-ein-flus-sen Bee-re Beet be-in-hal-ten be-ur-tei-len be-er-di-gen Ge-burt
		ge-impft ge-irrt ge-öff-net ge-ehrt ge-eig-net Ge-heim-nis Gei-ge Geist be-geis-tert ra-sie-ren ba-siert Spa-ni-er re-a-gie-ren Re-im-plan-ta-ti-on
		Ko-o-pe-ra-ti-on=6 Zo-o-lo-ge=4 Zoo Ni-veau Mi-lieu be-auf-tra-gen
		Quel-le be-quem Yo-ga Sy-stem schien er-schien Wien
		Kie-fer-höh-le Zahn-arzt Na-se schnäu-zen Nach-blu-tung An-ti-bi-o-ti-kum Schmerz-mit-tel Kie-fer-chi-rur-gie Ein-griff Röntgen-bild=3 Team Code`,
	"fr": `
		porte table por-ter je le les une des est mé-de-cin se-maine sa-me-di fe-nê-tre=2
		vie rue roue joue voie pluie plaie an-née i-dée sor-tie
		pied bien lion rien hier nuit lui oui huit fouet pia-no na-tion o-pé-ra-tion pa-tient pa-tients
		cli-ent ou-bli-er cri-er fé-vri-er tri-angle qua-tri-ème=3 tru-elle é-blou-ir=3
		eau beau-té bu-reau deux œil sœur mieux lieu yeux feuille tra-vail tra-vail-ler fa-mille o-reille
		na-ïf ma-ïs No-ël o-cé-an thé-âtre ré-a-gir ca-ca-o a-orte ré-el cha-os
		pays=2 pay-er vo-yage mo-yen es-su-yer tu-yau cra-yon sys-tème
		quatre gué-rir langue que guide é-qui-pe=2 man-geons plon-geait na-geoire mé-lange
		res-tent=1 fi-nissent vien-nent=1 sai-gnent=1 é-taient a-vaient
		dent dents vent sou-vent mo-ment ra-pi-de-ment=4 len-te-ment=3 ac-ci-dent ar-gent par-ent=2 dorment vrai-ment
		paie-ment re-mer-cie-ment é-ter-nue-ment
		l'os l'eau d'a-bord qu'il jus-qu'à au-jourd'-hui s'il l'im-plant l'hô-pi-tal
		sai-gne-ment gen-cive chi-rur-gie nez im-plant cou-ron-ne=2 fièvre fiè-vres=1 gonfle-ment=3 a-na-to-mie`,
	"pl": `
		nie dzień dnia krew krwi ząb zę-by no-sa nos u-sta szczę-ka dzią-sło ra-na chi-rurg
		pies pia-sek mia-sto nie-bo cia-ło sio-stra wie-czór mię-so mię-dzy dzie-sięć pięć ciąg ra-dio
		hi-sto-ria bio-lo-gia li-nia li-nii chi-rur-gii Ma-ria Ma-rii o-pe-ra-cja o-pe-ra-cji
		kli-ent tri-umf pa-cjent przy-ja-ciel dia-gno-za wiel-bi-ciel
		au-to pau-za au-tor na-u-ka na-u-czy-ciel za-u-wa-żyć za-u-fać Eu-ro-pa neu-ro-log mu-ze-um li-ce-um nie-u-fny
		ma-i-lem=2 za-i-mek mo-i two-i na-iw-ny=3 U-kra-i-na iść i-gła
		nie-od-po-wie-dni po-u-kła-dać ko-or-dy-na-cja a-or-ta po-e-ta te-atr=2 mu-zyk
		znie-czu-le-nie szwy szwów o-bję-ty zdję-cie za-bieg go-rącz-ka krwa-wie-nie o-pu-chli-zna le-ki an-ty-bio-tyk
		za-to-ka szczę-ko-wa im-plant im-plan-ty z w do na rent-gen kon-tro-la go-dzi-na ty-go-dnie mie-siąc stycz-nia`,
}

// parts is the word without its marks and its number of syllables: "ta-ble", or
// "rescue=2" where a division would mislead.
func parts(entry string) (word string, syllables int) {
	divided, number, counted := strings.Cut(entry, "=")
	word = strings.ReplaceAll(divided, "-", "")
	if counted {
		return word, int(number[0] - '0')
	}
	return word, strings.Count(divided, "-") + 1
}

func TestSyllablesOfTheTables(t *testing.T) {
	for base, table := range divided {
		entries := strings.Fields(table)
		if len(entries) < 60 {
			t.Errorf("%s: %d words only", base, len(entries))
		}
		for _, entry := range entries {
			word, want := parts(entry)
			if got := languages[base].partSyllables(strings.ToLower(word), ""); got != want {
				t.Errorf("%s: %s: %d syllables, want %d", base, entry, got, want)
			}
		}
	}
}
