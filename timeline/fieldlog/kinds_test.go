package fieldlog

import (
	"context"
	"slices"
	"strings"
	"testing"

	"pushcue/timeline/fault"
	"pushcue/timeline/words"
)

func readKinds(t testing.TB, text string) *Kinds {
	t.Helper()
	k, err := ReadKinds(context.Background(), strings.NewReader(text), Options{File: "kinds.csv"})
	if err != nil {
		t.Fatal(err)
	}
	return k
}

func TestReadKinds(t *testing.T) {
	want := []Entry{
		{Code: "RT", Words: "roots, thick", Urgency: UrgencyRepair, Key: "roots", Line: 2},
		{Code: "B2", Words: "water lies here", Urgency: UrgencyWatch, Key: "belly", Line: 3},
		{Code: "Z9", Words: "something of our own", Line: 4},
	}
	tests := map[string]string{
		"commas":          "code,words,urgency,kind\nRT,\"roots, thick\",repair,\nB2,water lies here,watch,belly\nZ9,something of our own,,",
		"semicolons":      "code;words;urgency;kind\nRT;roots, thick;repair;\nB2;water lies here;watch;belly\nZ9;something of our own;;",
		"any order":       "usual,kind,meaning,code\nrepair,,\"roots, thick\",RT\nwatch,belly,water lies here,B2\n,,something of our own,Z9",
		"other languages": "Kürzel;Bedeutung;Dringlichkeit;Art\nRT;roots, thick;reparieren;\nB2;water lies here;beobachten;Unterbogen\nZ9;something of our own;;",
	}
	tests["any order"] = strings.Replace(tests["any order"], "usual", "urgency", 1)
	for name, text := range tests {
		if k := readKinds(t, text); !slices.Equal(k.Entries, want) || len(k.Faults) > 0 {
			t.Errorf("%s: %+v, %v", name, k.Entries, k.Faults)
		}
	}
	k := readKinds(t, "RT;roots, thick;repair\nZ9;something of our own;")
	if len(k.Entries) != 2 || k.Entries[0].Code != "RT" || k.Entries[0].Line != 1 || len(k.Notes) != 1 {
		t.Errorf("without a header: %+v, %q", k.Entries, k.Notes)
	}
}

func TestKindsAreJoinedToTheLog(t *testing.T) {
	o := lisbon(t)
	o.Kinds = readKinds(t, "code,words,urgency,kind\nRT,thick roots,repair,roots\nZ9,something of our own,watch,\nC,connection,,")
	tests := []struct {
		what, urgency string
		want          Kind
		wantUrgency   Urgency
		usual         bool
	}{
		{"RT", "", Kind{"roots", "RT", "thick roots"}, UrgencyRepair, true},
		{"rt", "watch", Kind{"roots", "RT", "thick roots"}, UrgencyWatch, false},
		{"Thick Roots", "", Kind{"roots", "RT", "thick roots"}, UrgencyRepair, true},
		{"Z9", "", Kind{"", "Z9", "something of our own"}, UrgencyWatch, true},
		{"C", "", Kind{"connection", "C", "connection"}, "", false},
		{"crack", "", Kind{"crack", "", "crack"}, "", false},
		{"", "", Kind{}, "", false},
	}
	for _, tt := range tests {
		log := mustRead(t, "distance,what,urgency\n1.5,"+tt.what+","+tt.urgency, o)
		if r := log.Rows[0]; r.What != tt.want || r.Urgency != tt.wantUrgency || r.Usual != tt.usual || len(log.Unlisted) > 0 {
			t.Errorf("%q: %+v %q %t %v", tt.what, r.What, r.Urgency, r.Usual, log.Unlisted)
		}
	}
	log := mustRead(t, "distance,code,what\n1.5,RT,roots at the joint", o)
	if want := (Kind{"roots", "RT", "roots at the joint"}); log.Rows[0].What != want {
		t.Errorf("code beside words: %+v", log.Rows[0].What)
	}
}

func TestUnlistedKindsStayAsWritten(t *testing.T) {
	log := mustRead(t, "distance,what\n1.5,Root\n2,rots\n3,rots\n4,BAF-17\n5,no roots", lisbon(t))
	if len(log.Faults) > 0 || len(log.Unlisted) != 3 {
		t.Fatalf("%v, %v", log.Faults, log.Unlisted)
	}
	if f := log.Unlisted[0]; f.Row != 2 || f.Value != "rots" || !strings.Contains(f.Text.String(), "more rows") || !strings.Contains(f.Hint.String(), `did you mean "root`) {
		t.Errorf("%v; %s", f, f.Hint)
	}
	if want := (Kind{"", "", "BAF-17"}); log.Rows[3].What != want {
		t.Errorf("%+v", log.Rows[3].What)
	}
}

func TestAnUnreadableUrgencyIsNamed(t *testing.T) {
	log := mustRead(t, "distance,urgency\n1.5,3\n2,WATCH\n3,Sofort", lisbon(t))
	if len(log.Faults) != 1 || !strings.Contains(log.Faults[0].Error(), `row 1 (line 2), column "urgency", value "3"`) {
		t.Errorf("%v", log.Faults)
	}
	if log.Rows[0].Urgency != "" || log.Rows[1].Urgency != UrgencyWatch || log.Rows[2].Urgency != UrgencyAtOnce {
		t.Errorf("%+v", log.Rows)
	}
}

func TestFaultsOfAListOfKinds(t *testing.T) {
	_, err := ReadKinds(context.Background(), strings.NewReader("code,words\nRT,roots\nRT,crack\nXX,bend\nXX,bend"), Options{File: "kinds.csv"})
	l, _ := fault.In(err)
	if len(l) != 1 || !strings.Contains(l[0].Error(), `kinds.csv, line 3, column "code", value "RT": this code means "crack" here and "roots" in line 2`) {
		t.Errorf("%v", err)
	}
	k := readKinds(t, "code,words,urgency,kind\nRT,roots,soonish,\nZZ,,watch,\nQ,ours,watch,nonsense")
	if len(k.Faults) != 3 || k.Entries[1].Words != "ZZ" {
		t.Errorf("%v, %+v", k.Faults, k.Entries)
	}
}

func FuzzReadKinds(f *testing.F) {
	f.Add([]byte("code,words,urgency\nRT,roots,repair\n"))
	f.Add([]byte("RT;roots;repair\nZ9;ours;"))
	f.Add([]byte("\xff\xfec\x00o\x00d\x00e\x00"))
	f.Fuzz(func(t *testing.T, data []byte) {
		k, err := ReadKinds(context.Background(), strings.NewReader(string(data)), Options{})
		if err != nil {
			return
		}
		for _, e := range k.Entries {
			if e.Words == "" || e.Key != "" && !slices.Contains(words.Kinds(), e.Key) || e.Urgency != "" && !slices.Contains(words.Urgencies(), string(e.Urgency)) {
				t.Errorf("%+v", e)
			}
		}
	})
}
