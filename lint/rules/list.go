package rules

// list is every rule in the order of the published tables. The rules against the chart come first,
// because later ones ask what those have found.
func list() []Rule {
	var all []Rule
	for _, g := range []struct {
		name  string
		rules []Rule
	}{
		{"Against the chart", []Rule{
			loadOverLimit(),
			bearingMismatch(),
			staleStatus(),
			sideMismatch(),
			methodBelowChart(),
			methodUnstated(),
			methodAboveChart(),
			staffBelowChart(),
			aidDiffers(),
			aidMissing(),
			walkNotCharted(),
			equipmentSkipped(),
			changeUncharted(),
			chartMissing(),
		}},
		{"Between shifts", []Rule{
			shiftConflict(),
			copiedForward(),
			copiedAcross(),
			shiftSilent(),
			followUpMissing(),
		}},
		{"Wording", []Rule{
			liftWording(),
			manualLift(),
			transferWording(),
			helpersUnstated(),
			limbUnstated(),
			aidUnstated(),
			aidUnspecific(),
			vagueHelp(),
			selfConflict(),
		}},
		{"The safety record", []Rule{
			liftOneHelper(),
			risingNoVitals(),
			risingNotTold(),
			pressureDrop(),
			fallNotTold(),
			fallMovedEarly(),
			fallHeadUnchecked(),
			fallInjuryUnstated(),
			fallCaught(),
			aidAltered(),
			aidMisfit(),
			aidFaultNotTold(),
			risingPressedOn(),
			hazardLeft(),
			fallCauseUnstated(),
			fallInjuredMoved(),
			staffHurtNotTold(),
			brakesOff(),
			footrestsOff(),
			wheelUnsafe(),
			liftUnsupervised(),
			signDiffers(),
			signMissing(),
		}},
	} {
		for _, r := range g.rules {
			r.Group = g.name
			all = append(all, r)
		}
	}
	return all
}
