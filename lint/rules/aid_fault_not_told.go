package rules

import "example.com/stance/lint/finding"

func aidFaultNotTold() Rule {
	return Rule{ID: "aid-fault-not-told", Severity: finding.Warning, Waits: true, check: checkAidFaultNotTold,
		Per: "faulty or missing aids and lifts", applies: faultyAids}
}

func faultyAids(p *pass) int { return len(done(p.entry, of("aid.fault"))) }

func checkAidFaultNotTold(p *pass) {
	if len(done(p.entry, inGroup("told"))) > 0 {
		return
	}
	told := map[int]bool{} // by clause: "battery flat and the charger gone" is one thing to tell
	for _, s := range done(p.entry, of("aid.fault")) {
		if told[s.Detail.Clause] {
			continue
		}
		told[s.Detail.Clause] = true
		p.report(report{
			about:   s,
			message: "an aid or lift is faulty or missing, and no word that anybody was told",
			advice:  "Take it out of use, tell the nurse and whoever repairs it, and add whom you told.",
		})
	}
}
