package corpus

// moves are sentences about mobility.
func moves() []string {
	return []string{
		"{Transferred|Xfer'd|Tfr'd} {bed to chair|bed to w/c|chair to commode|w/c to toilet} {x1|x2|with one|with two staff} {with belt|with gait belt|with walker|pivot}{.|, tolerated well.|, steady.|, needed cueing.}",
		"Walked {5|10|15|20|30} m {with 2WW|with 4WW|with cane|with walker} {x1 assist|and supervision|independently|with one beside} {to dining room|in corridor|to bathroom|to lounge}.",
		"{Up in chair|Up in w/c|Sat in recliner|Up in wheelchair} {for breakfast|for lunch|for supper|from 1000 to 1130|most of shift|for one hour} {x1|x2|with lift|with sit-stand lift x2|}.",
		"{Hoisted|Lifted} with {full sling|ceiling lift|total lift} {x2|with two staff|x1} {bed to chair|into recliner|back to bed}.",
		"{NWB|TTWB|PWB 50%|WBAT|FWB} {L leg|R leg|left leg|right leg} {maintained|reinforced|kept throughout|not kept, reminded}.",
		"{No falls this shift|Denies falls|No fall|Resident did not fall}.",
		"Found on floor beside {bed|chair|toilet} at {0210|1430|2115}, {no injury seen|small skin tear on elbow|c/o hip pain}, {nurse told|RN aware|doctor called}.",
		"Refused to {walk|get up|transfer|stand} {this morning|after lunch|x2|due to pain}.",
		"Needs {two|one} to stand, {knees buckle|leans to left|unsteady on turning|slow to rise}.",
		"{Dizzy|Lightheaded|Wobbly} on {standing|rising|getting up}, sat {back down|for two minutes}, BP {118/70|102/60|134/82} sitting and {98/60|116/72|130/80} standing.",
		"PT to {review|reassess} {transfers|walking|weight bearing} {tomorrow|on Monday|next week}.",
		"{Bed alarm on|Call bell in reach|Brakes on|Footrests off for transfer|Non-slip socks on|Floor clear}.",
		"Stood with {sit-to-stand lift|frame|grab bar|walker} x{1|2}, {held well|managed three stands|tired quickly}.",
		"{She|He} {pushed up from armrests|bore weight on both legs|took a few steps|was steady on her feet} {today|this evening|overnight}.",
		"Self-propelled w/c to {dining|activities|chapel|garden}.",
		"Slide board transfer {bed to w/c|w/c to bed} with {one|two} assist{.|, board placed well.}",
		"Gait {steady|unsteady|shuffling|slow} with {cane|walker|rollator}, {belt on|no belt used|one staff close by}.",
		"Turned and repositioned {q2h|every two hours} with {one|two} and slide sheet.",
	}
}

// others are sentences about all else.
func others() []string {
	return []string{
		"Ate {50|75|80|100}% of {breakfast|lunch|supper}, fluids {well|400 ml|taken slowly|encouraged}.",
		"{Alert and oriented|Alert, pleasant|Drowsy but rousable|In good spirits|Quiet today}, {chatting with tablemates|watching the birds|enjoyed the hymn singing|read the paper}.",
		"Skin {intact|dry, cream applied|pink at coccyx, barrier cream put|warm and dry}.",
		"{Daughter|Son|Niece|Wife|Neighbour} visited {after lunch|in the evening|for an hour|with photographs}, {all in good humour|brought grapes|asked about the dentist|left at 1930}.",
		"Voided {x2|x3|x4}, {no concerns|urine clear|incontinent of urine once, changed}.",
		"BM {x1, formed|none since yesterday|small, soft|large}, {laxative given|continue to watch|charted}.",
		"Medications {given crushed in applesauce|taken whole with water|given as ordered|refused at first, taken later}.",
		"{Denies pain|Pain 2/10|Pain 4/10, acetaminophen given|c/o headache, settled after tea}.",
		"T {36.4|36.8|37.1}, P {68|74|82|90}, R {16|18|20}, SpO2 {94|96|98}% RA.",
		"Slept {well|in short stretches|from 2200 to 0530|poorly, awake at 0300}.",
		"Mouth care {done|given|refused once}, dentures {in|soaking|cleaned}.",
		"Hair washed and {set|dried|combed}, nails trimmed, {enjoyed it|smiled throughout|asked for the blue ribbon}.",
		"Dressing to {left heel|right shin|elbow} {intact|changed, small amount of clear drainage|dry}.",
		"Blood sugar {6.2|7.8|8.4|11.2} before {breakfast|lunch|supper}.",
		"{Attended|Joined|Declined} {bingo|the baking group|chapel|music hour|the quiz}.",
		"Calls out {at times|for her mother|when alone}, {settles with company|settles with a warm drink|redirected}.",
		"{Weight 61.2 kg|Weight stable|Weight down 0.4 kg since last week}, dietitian {aware|to see|note read}.",
		"Coughs with thin fluids, {thickened as ordered|small sips given|speech therapy referral sent}.",
		"Glasses {cleaned|found under the pillow|with the optician}, hearing aid battery {changed|fine|to be ordered}.",
		"Room {aired|tidied|warm, window opened}, fresh linen {put|on the bed|ordered}.",
	}
}
