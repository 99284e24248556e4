package rules

// list is every rule in the order of the published tables. The rules against the chart come first,
// because later ones ask what those have found.
func list() []Rule {
	return []Rule{
		// Against the chart.
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
		// Between shifts.
		shiftConflict(),
		copiedForward(),
		copiedAcross(),
		shiftSilent(),
		followUpMissing(),
		// Wording.
		liftWording(),
		manualLift(),
		transferWording(),
		helpersUnstated(),
		limbUnstated(),
		aidUnstated(),
		aidUnspecific(),
		vagueHelp(),
		selfConflict(),
		// The safety record.
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
	}
}
