# Every string of the screen, grouped by the file that says it. See DEVELOPERS.md, "How to add a string".

## words

language-name = English
words-settings-language = Language

## units/dates

units-dates-april = April
units-dates-april-short = Apr
units-dates-august = August
units-dates-august-short = Aug
units-dates-december = December
units-dates-december-short = Dec
units-dates-february = February
units-dates-february-short = Feb
units-dates-friday = Friday
units-dates-friday-short = Fri
units-dates-in-full = { $weekday } { $day } { $month }, { $time }
units-dates-january = January
units-dates-january-short = Jan
units-dates-july = July
units-dates-july-short = Jul
units-dates-june = June
units-dates-june-short = Jun
units-dates-march = March
units-dates-march-short = Mar
units-dates-may = May
units-dates-may-short = May
units-dates-monday = Monday
units-dates-monday-short = Mon
units-dates-november = November
units-dates-november-short = Nov
units-dates-october = October
units-dates-october-short = Oct
units-dates-saturday = Saturday
units-dates-saturday-short = Sat
units-dates-september = September
units-dates-september-short = Sep
units-dates-sunday = Sunday
units-dates-sunday-short = Sun
units-dates-thursday = Thursday
units-dates-thursday-short = Thu
units-dates-tuesday = Tuesday
units-dates-tuesday-short = Tue
units-dates-wednesday = Wednesday
units-dates-wednesday-short = Wed
units-dates-with-year = { $day } { $month } { $year }, { $time }

## units/parse

units-parse-ambiguous = “{ $text }” can be read in two ways; write one decimal mark and no thousands marks, for example 18.2
units-parse-empty = type a number, for example 18.2
units-parse-not-a-number = “{ $text }” is not a number; write digits with one decimal mark, for example 18.2
units-parse-not-finite = “{ $text }” is not a finite number

## units/quantity

units-quantity-bean-mass = mass of beans
units-quantity-dose = dose
units-quantity-extraction = extraction
units-quantity-flow = flow
units-quantity-hint-decimal-mark = . Is a decimal mark missing?
units-quantity-hint-fahrenheit = . Was this in °F? Then it is { $value } °C
units-quantity-hint-milliseconds = . Was this in milliseconds? Then it is { $value } s
units-quantity-not-finite = { $what } must be a finite number
units-quantity-out-of-range = { $what } must be between { $min } and { $max } { $unit }; { $value } is outside{ $hint }
units-quantity-pressure = pressure
units-quantity-strength = strength
units-quantity-temperature = temperature
units-quantity-time = time
units-quantity-wrong-unit = “{ $text }” is no unit of { $what }; use { $usual }
units-quantity-yield = yield

## units/show

units-show-list-last = { $before } and { $last }
units-show-list-next = { $before }, { $next }

## domain/bag

domain-bag-dark = dark
domain-bag-honey = honey
domain-bag-light = light
domain-bag-medium = medium
domain-bag-medium-dark = medium-dark
domain-bag-medium-light = medium-light
domain-bag-natural = natural
domain-bag-other = other
domain-bag-washed = washed

## domain/gear

domain-gear-not-finite = { $what }: every number must be finite
domain-gear-range = { $what }: { $value } is outside { $min } to { $max }
domain-gear-step = { $what }: the step must be above 0 and give at most a million steps; { $step } does not
domain-gear-upside-down = { $what }: the smallest value ({ $min }) must not be above the largest ({ $max })

## domain/id

domain-id-fault = “{ $text }” is not an identifier; leave the id of a record as the program wrote it

## domain/trace

domain-trace-cup-mass = cup mass
domain-trace-far = sample { $index } lies more than 1,000,000 s from zero; count time from the first sample, or mend its unit
domain-trace-infinite = { $channel }: sample { $index } is infinite
domain-trace-length = { $channel } has { $got } samples but time has { $want }
domain-trace-time = time must rise from sample to sample; sample { $index } does not
domain-trace-too-short = a trace needs at least two samples of time and of one other quantity

## puck/bed

puck-bed-channels = { $n } channels, at most { $most }

## puck/emulator

puck-emulator-only = only { $used } of { $points } pulls end within { $seconds } s
puck-emulator-singular = the fit is singular

## puck/fault

puck-fault-out-of-range = { $field } is { $value }, allowed is { $low } to { $high }

## puck/film

puck-film-pictures = { $n } pictures, at most { $most }

## puck/fit

puck-fit-lengths = { $times } times and { $masses } masses

## puck/outcome

puck-outcome-choked = { $line } · choked
puck-outcome-gusher = { $line } · gusher
puck-outcome-line = first drip { $drip_s } s · { $cup_g } g in { $time_s } s · strength { $strength } % · extraction { $extraction } %
puck-outcome-no-drip = no drip · { $cup_g } g in { $time_s } s · strength { $strength } % · extraction { $extraction } %

## puck/profile

puck-profile-no-point = needs at least one (time_s, value) point
puck-profile-out-of-order = point { $at } at { $time_s } s comes before the one above it, { $before_s } s
puck-profile-too-many = has { $n } points, at most { $most }

## puck/solute

puck-solute-classes = { $n } classes, allowed are 1 to { $most }

## capture/samples

capture-samples-clock-back = The instrument's clock repeats or steps back.
capture-samples-fields = { $n ->
    [one] A line has { $n } field where the header has { $wanted }.
   *[other] A line has { $n } fields where the header has { $wanted }.
  }
capture-samples-no-column = “{ $line }” names no pressure, flow, cup mass or temperature.
capture-samples-no-header = A number came before any header that says what it is.
capture-samples-no-key = No key names a pressure, flow, cup mass or temperature.
capture-samples-no-number = “{ $field }” is no number.
capture-samples-no-object = “{ $line }” is no whole JSON object.
capture-samples-thousands = The mark in “{ $field }” may be a decimal one or part thousands; have the instrument write no marks between thousands.
capture-samples-time-not-finite = The time is not finite.

## capture/source

capture-source-begun-again = the file was begun again
capture-source-closed = the other side closed the connection
capture-source-no-file = this is no ordinary file
capture-source-no-host = the address has no host
capture-source-too-long = A line was too long to be a reading.

## practice/bench

practice-bench-handle-age = Days since roast
practice-bench-handle-care = Unevenness of preparation
practice-bench-handle-dose = Dose
practice-bench-handle-grind = Grind
practice-bench-handle-pressure = Pressure
practice-bench-handle-roast = Roast
practice-bench-handle-temperature = Temperature
practice-bench-handle-yield = Yield
practice-bench-honesty = Simulated. Directions follow published measurements where there are any; sizes are those of an invented coffee. The model does not know the aroma, the crema, milk, or how your machine differs.
practice-bench-preset-cool-to-hot = Cool to hot: { $cool } rising to { $hot }
practice-bench-preset-falling = Falling pressure: { $high } sinking to { $low }
practice-bench-preset-gentle-start = Gentle start: { $low } for 8 s, then { $high }
practice-bench-preset-hot-to-cool = Hot to cool: { $hot } sinking to { $cool }
practice-bench-preset-low = Low and long: { $low } throughout
practice-bench-preset-plain = As the machine is set
practice-bench-preset-spring = Rise and fall, like a spring
practice-bench-preset-steady-flow = Steady flow: 2 mL/s, at most { $high }

## practice/check

practice-check-best-days = best_days runs from { $from } back to { $to }
practice-check-cannot-be-set = { $name } { $value } cannot be set there
practice-check-claim = the model does not bear this out: { $instead }
practice-check-compares-nothing = it sweeps nothing and compares fewer than two arms
practice-check-either = { $before } or { $next }
practice-check-is = { $path } is { $value }
practice-check-no-file = there is no file { $file }
practice-check-no-hint = there is no hint
practice-check-no-moves = nothing may be moved
practice-check-no-pull-has = no pull has { $what }
practice-check-no-shows = nothing is shown
practice-check-no-temperature = the temperature cannot be set at this station
practice-check-no-unknown = nothing is said to be unknown
practice-check-no-watch = nothing is watched
practice-check-not-matched = no grind gives “{ $arm }” the time of the first arm
practice-check-points = the points do not run forward along the handle
practice-check-same-name = { $other } has the same name
practice-check-says-nothing = { $path } says nothing
practice-check-solved = it begins solved: { $first } of { $best } reachable
practice-check-surprise = a surprise waits in pull { $pull } but there are { $most_pulls }
practice-check-sweep-nowhere = the sweep goes nowhere
practice-check-todo-add-field = Add “{ $field }: …,”
practice-check-todo-between = Use a number from { $low } to { $high }
practice-check-todo-claim = Change the claim, or what is set
practice-check-todo-coffee = Change the coffee or the station
practice-check-todo-comma = Put a comma after the value before it
practice-check-todo-compare = Compare with one of the files that ship; every bracket and quotation mark needs its partner
practice-check-todo-compares-nothing = Write a sweep, or at least two arms
practice-check-todo-hint = Write at least one, the gentlest first
practice-check-todo-known = Known are: { $names }
practice-check-todo-known-here = Known here are: { $names }
practice-check-todo-leave-temperature-out = Leave temperature_c out
practice-check-todo-most-pulls = Use a whole number from 1 to 30
practice-check-todo-moves = Name at least one of Grind, Dose, Yield, Temperature
practice-check-todo-no-pull-has = Watch something else
practice-check-todo-not-matched = Change the arm, or leave same_time out
practice-check-todo-plain-number = Write a plain number with a decimal point
practice-check-todo-points = Write (handle, value) pairs, each handle value larger than the one before
practice-check-todo-profile = Write (seconds, value) pairs, times not running backwards
practice-check-todo-quotes = Put the text between " and "
practice-check-todo-rename = Rename one of them: only the last would be used
practice-check-todo-scale = Write (smallest, largest, step)
practice-check-todo-sentence = Write a sentence there
practice-check-todo-shows = Name at least one of Clock, Strength, Marks, Liking, Trace
practice-check-todo-smaller-first = Put the smaller first
practice-check-todo-solved = Begin further away, or make near smaller
practice-check-todo-start = Change what is set
practice-check-todo-steps = Use { $min } to { $max } in steps of { $step }, such as { $near }
practice-check-todo-surprise = Put it into one of the pulls
practice-check-todo-sweep-nowhere = Give from and to different values
practice-check-todo-take-temperature-out = Take Temperature out, or choose another station
practice-check-todo-too-little = Let more be moved, or choose another coffee or drinker
practice-check-todo-unknown = Say what nobody knows; there is always something
practice-check-todo-watch = Name what to watch, such as Time or Extraction
practice-check-too-little = the best cup that these moves reach is liked only { $liking }

## practice/class

practice-class-caution-burrs = Unplug a grinder and let the burrs stop before touching anything inside.
practice-class-caution-caffeine = Sip and spit: six doubles swallowed are more caffeine than a day should hold.
practice-class-caution-hot = Water, steam and the basket holder scald: hands and faces away, children watched.
practice-class-caution-pressure = Never loosen a basket while the gauge shows pressure; after a choked pull wait longer.
practice-class-column-bitter = bitter
practice-class-column-body = body
practice-class-column-dose = dose { $unit }
practice-class-column-drink = drink { $unit }
practice-class-column-dry = dry
practice-class-column-first-drip = first drip s
practice-class-column-grind = grind
practice-class-column-liking = liking 1–9
practice-class-column-next = what I change next and why
practice-class-column-pull = pull
practice-class-column-sour = sour
practice-class-column-strength = strength %
practice-class-column-strips = seen in the strips
practice-class-column-strong = strong
practice-class-column-sweet = sweet
practice-class-column-time = time s
practice-class-column-water = water { $unit }
practice-class-start = grind { $grind }, dose { $dose }, drink { $drink }
practice-class-start-with-water = grind { $grind }, dose { $dose }, drink { $drink }, water { $water }

## practice/demo

practice-demo-date = { $days ->
    [one] a date { $days } day before { $anchor } cannot be
   *[other] a date { $days } days before { $anchor } cannot be
  }
practice-demo-missing = { $what ->
    [station] { $bag }: there is no station “{ $key }”
   *[drinker] { $bag }: there is no drinker “{ $key }”
  }
practice-demo-script = the scenario does not parse: { $fault }

## practice/exercise

practice-exercise-keeps-dose = this exercise keeps the dose as it is
practice-exercise-keeps-grind = this exercise keeps the grind as it is
practice-exercise-keeps-temperature = this exercise keeps the temperature as it is
practice-exercise-keeps-yield = this exercise keeps the yield as it is
practice-exercise-level-advanced = advanced
practice-exercise-level-early = early
practice-exercise-level-expert = expert
practice-exercise-level-first-day = first day
practice-exercise-level-steady = steady

## practice/fitting

practice-fitting-fitted = { $n ->
    [one] Fitted to { $n } sample: the simulated cup is off by { $rms } in the mean and { $worst } at most.
   *[other] Fitted to { $n } samples: the simulated cup is off by { $rms } in the mean and { $worst } at most.
  }
practice-fitting-no-mass = this trace has no cup mass; the bench can only be fitted to what fell into a cup
practice-fitting-stopped = stopped
practice-fitting-too-few = { $n ->
    [one] this trace has only { $n } usable sample of cup mass above a gram; at least 8 are needed
   *[other] this trace has only { $n } usable samples of cup mass above a gram; at least 8 are needed
  }

## practice/sitting

practice-sitting-no-pulls-left = { $n ->
    [one] the { $n } pull is used: serve it
   *[other] all { $n } pulls are used: serve the best of them
  }
practice-sitting-nothing-pulled = pull at least once before serving
practice-sitting-served = the cup is served; begin again for another round

## practice/study

practice-study-arm = { $arm } { $value }
practice-study-arm-alike = { $arm } { $value } (no difference worth naming)
practice-study-arm-differs = { $arm } { $value } ({ $by })
practice-study-arm-no-cup = { $arm } gives no cup
practice-study-arm-without = “{ $arm }” gives no { $watch }
practice-study-arms = { $the }: { $arms }.
practice-study-arms-next = { $before }; { $next }
practice-study-down-and-up = { $the } goes from { $from } at { $start } down to { $bottom } at { $valley } and up to { $to } at { $end }.
practice-study-falls = { $the } falls from { $from } at { $start } to { $to } at { $end }.
practice-study-goes = { $the } goes from { $from } to { $to }
practice-study-lost = { $n ->
    [one] One pull in the range never filled the cup.
   *[other] { $n } pulls in the range never filled the cup.
  }
practice-study-no-arm = there is no arm “{ $arm }”
practice-study-no-peak = { $the } is { $from } and { $to } at the ends and { $top } at its highest
practice-study-no-pull-has = no pull of the sweep has { $what }
practice-study-no-sweep = the study sweeps nothing
practice-study-rises = { $the } rises from { $from } at { $start } to { $to } at { $end }.
practice-study-stays = { $the } stays at { $value } throughout.
practice-study-two-arms = “{ $one }” has { $value } and “{ $other }” { $value_2 }
practice-study-up-and-down = { $the } goes from { $from } at { $start } up to { $top } at { $peak } and down to { $to } at { $end }.

## practice/sweep

practice-sweep-balance = acid–bitter ratio
practice-sweep-coffee-per-drink = coffee per drink
practice-sweep-cup-20 = cup after 20 s of full pressure
practice-sweep-cup-30 = cup after 30 s of full pressure
practice-sweep-cup-40 = cup after 40 s of full pressure
practice-sweep-cup-60 = cup after 60 s of full pressure
practice-sweep-extraction = extraction
practice-sweep-first-drip = first drip
practice-sweep-liking = liking
practice-sweep-one-balance = an acid–bitter ratio
practice-sweep-one-coffee-per-drink = a coffee per drink
practice-sweep-one-cup-20 = a cup after 20 s of full pressure
practice-sweep-one-cup-30 = a cup after 30 s of full pressure
practice-sweep-one-cup-40 = a cup after 40 s of full pressure
practice-sweep-one-cup-60 = a cup after 60 s of full pressure
practice-sweep-one-extraction = an extraction
practice-sweep-one-first-drip = a first drip
practice-sweep-one-liking = a liking
practice-sweep-one-strength = a strength
practice-sweep-one-time = a time
practice-sweep-one-unevenness = an unevenness
practice-sweep-short-balance = acid–bitter
practice-sweep-short-coffee-per-drink = dose/drink
practice-sweep-short-cup-20 = cup at 20 s
practice-sweep-short-cup-30 = cup at 30 s
practice-sweep-short-cup-40 = cup at 40 s
practice-sweep-short-cup-60 = cup at 60 s
practice-sweep-strength = strength
practice-sweep-the-balance = the acid–bitter ratio
practice-sweep-the-coffee-per-drink = the coffee per drink
practice-sweep-the-cup-20 = the cup after 20 s of full pressure
practice-sweep-the-cup-30 = the cup after 30 s of full pressure
practice-sweep-the-cup-40 = the cup after 40 s of full pressure
practice-sweep-the-cup-60 = the cup after 60 s of full pressure
practice-sweep-the-extraction = the extraction
practice-sweep-the-first-drip = the first drip
practice-sweep-the-liking = the liking
practice-sweep-the-strength = the strength
practice-sweep-the-time = the time
practice-sweep-the-unevenness = the unevenness
practice-sweep-time = time
practice-sweep-unevenness = unevenness

## rules

rules-case-fact = case “{ $case }” names the unknown fact { $fact }
rules-case-first = case “{ $case }”: the first action is { $is }, not { $wanted }
rules-case-silent = case “{ $case }”: rule { $rule } did not fire
rules-fact-against = { $fact } speaks against it
rules-fact-is = { $fact } is { $value }
rules-fact-unknown = { $fact } is not known
rules-todo-case = change the rule or the case, whichever is wrong

## rules/pack

rules-pack-because = rule { $id } lacks a because or a source
rules-pack-dead = rule { $id } can never fire: one condition stands in when and in unless
rules-pack-fact = rule { $id } names the unknown fact { $fact }
rules-pack-format = format { $format } is not known
rules-pack-no-condition = rule { $id } has no condition and would always fire
rules-pack-opposite = rules { $a } and { $b } say the opposite under the same conditions
rules-pack-size = rule { $id } moves by { $size }
rules-pack-strength = rule { $id } has strength { $strength }
rules-pack-threshold = rule { $id } has a threshold that is not finite
rules-pack-todo-because = say why in one sentence and where it comes from, or "common practice, no source"
rules-pack-todo-dead = remove one
rules-pack-todo-fact = use one of { $facts }
rules-pack-todo-format = write format: 1
rules-pack-todo-no-condition = add at least one to when
rules-pack-todo-opposite = keep one of them or tell them apart by a condition
rules-pack-todo-size = write a size above 0, at most { $most }
rules-pack-todo-strength = write a number above 0, at most 1
rules-pack-todo-text = correct the text at this place; the rules that come with the program show the form
rules-pack-todo-threshold = write a plain number
rules-pack-todo-twice = give each rule its own id
rules-pack-twice = two rules are called { $id }

## trace/clean

trace-clean-despiked = { $n ->
    [one] { $n } single sample
   *[other] { $n } single samples
  } lay far from the neighbours and became their median.
trace-clean-flow = Flow is the slope of cup mass over { $window_s } s: noise of 1 g in mass becomes { $gain } g/s (here { $here } g/s), no delay, and changes quicker than the window are blurred.
trace-clean-flow-recorded = Flow was recorded; it stays.
trace-clean-gaps = { $gaps ->
    [one] { $n } samples are missing, in a gap of { $longest_s } s over which no line is drawn.
   *[other] { $n } samples are missing, in { $gaps } gaps of up to { $longest_s } s over which no line is drawn.
  }
trace-clean-joined = { $n ->
    [one] One value of a coarse display was joined from the middle of one step to the next; the error left is about a third of a step.
   *[other] { $n } values of a coarse display were joined from the middle of one step to the next; the error left is about a third of a step.
  }
trace-clean-mass = Cup mass is flow summed up: { $sum } in all, to ±{ $error } from noise alone; an error of the meter itself of one percent is one of { $percent }.
trace-clean-mass-recorded = Cup mass was recorded; it stays.
trace-clean-missing = { $n ->
    [one] One sample is missing; the line runs straight over it.
   *[other] { $n } samples are missing, one or few at a time; lines run straight over them.
  }
trace-clean-moved = Cup mass was moved { $lag_s } s earlier, by which the scale trails; noise is unchanged or less, and the last { $lag_s } s have no mass.
trace-clean-no-drip = No first drip shows where the empty cup ends.
trace-clean-no-flow = There is no flow.
trace-clean-no-mass = There is no cup mass.
trace-clean-none-missing = No sample is missing.
trace-clean-nothing-to-do = Nothing to do.
trace-clean-repeated = { $n ->
    [one] One value only repeats the one before at the sensor's own pace; it counts as missing.
   *[other] { $n } values only repeat the one before at the sensor's own pace; they count as missing.
  }
trace-clean-step = { $step }: { $sentence }
trace-clean-step-dropped = dropped samples
trace-clean-step-flow-from-mass = flow from mass
trace-clean-step-mass-from-flow = mass from flow
trace-clean-step-quantisation = coarse display
trace-clean-step-repeated = repeated samples
trace-clean-step-scale-lag = lag of the scale
trace-clean-step-scale-smoothing = smoothing by the scale
trace-clean-step-spikes = spikes
trace-clean-step-tare-drift = drift of the tare
trace-clean-tared = The empty cup read { $level }, which was taken off; no drift stands out of the noise.
trace-clean-tared-drift = The empty cup read { $level } and drifted by { $drift } a minute; both were taken off.
trace-clean-too-late = The trace begins too late to see the empty cup.
trace-clean-unsmoothed = The scale's own smoothing (time constant { $tau_s } s) was undone; noise grows { $gain }-fold, no delay is left.

## trace/events

trace-events-already-fills = the cup already fills when the trace begins
trace-events-already-on = the trace begins with the pump already on, or does not show it
trace-events-end = last drips
trace-events-filled = headspace full
trace-events-first-drip = first drip
trace-events-flow-begins = the flow begins
trace-events-flow-fades = the flow begins to die away
trace-events-flow-over = the flow has died away
trace-events-flow-settles = the flow reaches what it keeps
trace-events-mass-rises = cup mass begins to rise
trace-events-pressure-falls = pressure falls
trace-events-pressure-rises = pressure begins to rise
trace-events-pump-off = pump off
trace-events-pump-on = pump on
trace-events-steady = steady
trace-events-still-runs = the trace ends while the pull still runs
trace-events-water-begins = water begins to flow

## trace/measures

trace-measures-channels = Resistance falls suddenly { $n } times: the bed is breaking up.
trace-measures-cooler = The water is { $off } cooler than asked for.
trace-measures-end-flow = At the end { $flow } g/s run.
trace-measures-flow-falls = Flow falls towards the end: the bed closes up.
trace-measures-flow-grows = Flow grows { $gain }-fold from the middle to the end.
trace-measures-flow-keeps = Flow keeps about even over the second half.
trace-measures-hotter = The water is { $off } hotter than asked for.
trace-measures-late-collapse = Resistance collapses late, by { $percent } % in ten seconds.
trace-measures-late-fall = Resistance falls by { $percent } % in ten seconds as solids leave.
trace-measures-late-rise = Resistance rises late, by { $percent } % in ten seconds: fines settle or the bed swells.
trace-measures-late-same = Resistance stays about the same over the second half.
trace-measures-mean-flow = { $flow } g/s fall into the cup on average.
trace-measures-mean-pressure = Pressure is { $pressure } on average while the cup fills.
trace-measures-no-channel = No sudden fall of resistance: no sign of a channel.
trace-measures-one-channel = Resistance falls by { $percent } ± { $doubt } % at once at { $at_s } s: water has found an easier way.
trace-measures-peak-pressure = Pressure peaks at { $pressure }.
trace-measures-permeability = The bed's permeability is { $value }·10⁻¹⁵ m² half way.
trace-measures-resistance = The puck resists with { $value } bar s/ml half way.
trace-measures-settled = Resistance has settled { $after_s } s after the first drip.
trace-measures-temperature-kept = The water keeps to { $target }.
trace-measures-temperature-swing = Temperature swings by { $swing } while the cup fills.
trace-measures-unsettled = Resistance is still on its way half way through the pull.
trace-measures-water-kept = { $water } of water went in and did not come out.
trace-measures-wet-early = The first drip came early for this flow (wetted share { $share }): part of the bed was by-passed.
trace-measures-wet-evenly = The first drip came when an evenly wetted bed would let it (wetted share { $share }).

## store/archive

store-archive-again = Ask for it again; nothing was changed by it
store-archive-cut-short = the file is cut short
store-archive-damaged = the file is damaged
store-archive-damaged-or-short = the file is damaged or cut short
store-archive-head-line = a part has no proper head line
store-archive-length = a part has no proper length
store-archive-not-ours = this is not a file of this program
store-archive-not-ours-or-newer = this is not a file of this program, or of a newer version
store-archive-parts = it has more than { $n } parts
store-archive-too-large = the file is larger than { $limit_mb } MB
store-archive-unfolds = it unfolds to more than { $limit_mb } MB

## store/backup

store-backup-leads-elsewhere = a part of the backup has a name that leads elsewhere: { $name }
store-backup-todo = Do not use this file

## store/check

store-check-also-in = { $kind ->
    [station] the station { $id } is also in { $file }
   *[bag] the bag { $id } is also in { $file }
  }
store-check-basket-diameter = the basket's diameter
store-check-changed-before-made = the record was changed before it was made
store-check-drinker-twice = this drinker is there twice
store-check-drip-after-end = the first drip comes after the end of the pull
store-check-false-a-month = false_a_month
store-check-future = { $when } lies in the future
store-check-grams-retained = grams retained
store-check-keeper-from-elsewhere = the keeper comes from a pull ({ $pull }) that is not in this bag
store-check-micrometres-per-unit = micrometres per unit
store-check-no-drinker = the bag's drinker is not in the notebook
store-check-no-station-of-bag = the bag's station is not in the notebook
store-check-no-station-of-pull = the pull's station is not in the notebook
store-check-no-trace = the pull { $pull } should have a trace, but traces/{ $pull }.ron is missing
store-check-opened-before-roasted = the bag was opened before it was roasted
store-check-outside = { $what } must be between { $min } and { $max }; { $value } is outside
store-check-price = the price
store-check-pull-also-in = the pull { $id } is also in { $file }
store-check-pull-twice = this pull is there twice (same id)
store-check-second-notebook = a second notebook.ron, probably left by file sync
store-check-todo-also-in = Open the notebook to have both merged, or remove one of the files
store-check-todo-changed = Set `changed` to `made` or later
store-check-todo-clock = Correct the time, or set this machine's clock
store-check-todo-date = Correct the date
store-check-todo-dates = Correct one of the two dates
store-check-todo-folder = Name the folder that holds notebook.ron
store-check-todo-journal = Keep a copy of the journal; the other lines are taken
store-check-todo-keeper = Take the field out
store-check-todo-no-drinker = Name a drinker of notebook.ron
store-check-todo-no-notebook = Restore it from a backup
store-check-todo-no-station = Restore the station's file, or name another station
store-check-todo-no-trace = Restore the trace, or take `has_trace` out of the pull
store-check-todo-number = Correct the number
store-check-todo-pull-twice = Take one of the two out, or give the second a new id
store-check-todo-second-notebook = Open the notebook to have both merged, or remove it
store-check-todo-times = Correct one of the two times
store-check-todo-trace-misnamed = Rename the file to <pull>.ron
store-check-todo-trace-of-no-pull = Remove the file if the pull was removed on purpose
store-check-todo-unknown-field = Mend its spelling if it is meant for this version
store-check-todo-window = Swap the two times
store-check-trace-misnamed = the file is named differently from its pull { $pull }
store-check-trace-of-no-pull = the trace belongs to no pull of the notebook
store-check-unknown-field = the field `{ $name }` is kept, not understood
store-check-window = the window ends before it begins
store-check-zoom = zoom

## store/commit

store-commit-todo-unsettled = Nothing is lost; it will be tried again
store-commit-todo-unwritable = Correct the value and save again
store-commit-unwritable = the edit “{ $edit }” cannot be written: { $why }

## store/fault

store-fault-already-there = “{ $folder }” already holds a notebook; nothing was changed
store-fault-disk-full = the disk is full; free some space and try again
store-fault-disk-read-only = the disk can only be read
store-fault-io = { $doing ->
    [back-up] “{ $file }” could not be backed up: { $why }
    [look] “{ $file }” could not be looked at: { $why }
    [make] “{ $file }” could not be made: { $why }
    [open] “{ $file }” could not be opened for writing: { $why }
    [read] “{ $file }” could not be read: { $why }
    [remove] “{ $file }” could not be removed: { $why }
    [set-aside] “{ $file }” could not be set aside: { $why }
   *[write] “{ $file }” could not be written: { $why }
  }
store-fault-is-a-folder = it is a folder, not a file
store-fault-itself = “{ $folder }” is this notebook itself; name another folder
store-fault-missing = there is no folder “{ $folder }”
store-fault-name-not-allowed = the file system does not allow this name
store-fault-no-notebook = “{ $folder }” holds no notebook (no notebook.ron, no bags)
store-fault-no-permission = you have no permission to do this here
store-fault-not-a-folder = “{ $file }” is a file; a notebook is a folder
store-fault-not-there = it, or the folder that it is to lie in, is not there (drive taken out, folder moved or renamed?); bring it back, or choose another place
store-fault-path-through-a-file = part of its path is a file, not a folder
store-fault-read-only = this notebook is open for reading only: { $why }
store-fault-stopped = stopped; nothing is lost
store-fault-too-large = it is too large
store-fault-vanished = the notebook folder “{ $folder }” is no longer there (drive taken out, network gone, folder moved?). Bring it back and try again, or save the notebook elsewhere

## store/fix

store-fix-drinker-added = its drinker was missing; a placeholder was added to { $file }
store-fix-journal-kept = { $n ->
    [one] { $n } edit cannot be read; a copy of the journal is in set-aside
   *[other] { $n } edits cannot be read; a copy of the journal is in set-aside
  }
store-fix-keeper = the keeper named a pull that is not in the bag; the name was taken out
store-fix-made-anew = it was missing and was made anew
store-fix-pulls-twice = { $n ->
    [one] { $n } pull stood there twice; the later edit was kept
   *[other] { $n } pulls stood there twice; the later edit of each was kept
  }
store-fix-restored = it could not be read, so it was set aside and restored as of { $made }
store-fix-stamp = a record was changed before it was made, or in the future; its stamp was corrected
store-fix-trace-mark = { $was ->
    [silent] the pull { $pull } has a trace but did not say so; corrected
   *[without] the pull { $pull } said it had a trace but has none; corrected
  }

## store/folder

store-folder-another-window = another window
store-folder-held = { $name } has it open
store-folder-held-and-not-closed = { $name } has it open on { $machine } since { $when } and has not closed it; take it over if that is over
store-folder-held-since = { $name } has it open since { $when }
store-folder-journal-unread = what was entered last could not be read from { $file }: { $why }; open the notebook again, and move that file elsewhere if it stays so
store-folder-name-on-machine = { $name } on { $machine }
store-folder-newer = it was written by a newer version of the program; update the program to edit it
store-folder-no-locks = this disk knows no file locks, so a second window could write at the same time
store-folder-opened-to-be-read = it was opened to be read
store-folder-someone = someone
store-folder-todo-journal-kept = The other lines were taken; a copy of the journal is kept in set-aside
store-folder-todo-no-locks = Open it in one window only
store-folder-todo-no-notebook = It will be made anew; restore it from a backup if it was deleted by mistake
store-folder-unwritable = the folder cannot be written: { $why }

## store/journal

store-journal-no-checksum = the line does not begin with a checksum
store-journal-unread = this edit cannot be read: { $why }
store-journal-wrong-checksum = the line does not match its checksum

## store/load

store-load-folder-unread = the folder could not be read: { $why }
store-load-no-notebook = the file with drinkers and preferences is missing
store-load-same-record = the file holds the same record as { $file }
store-load-todo-folder-unread = Look at its permissions
store-load-todo-same-record = Both were read and the later edit of each record is shown; opening for writing merges them
store-load-todo-scale = Correct the scale

## store/packet

store-packet-empty = the file is empty
store-packet-not-text = this part is not text in UTF-8
store-packet-todo-empty = Ask for it again
store-packet-todo-not-text = Ask for the file again

## store/read

store-read-left-alone = The file is left as it is and everything else is opened
store-read-newer = the file was written by a newer version (format { $format }; this one knows { $known })
store-read-no-format = the file does not say its format number
store-read-no-sense = the file cannot be read here: { $why }
store-read-no-such-format = there is no format { $format }
store-read-not-text = the file is not text in UTF-8 from here on
store-read-todo-and-left-alone = { $todo }. The file is left as it is and everything else is opened
store-read-todo-closing = A closing bracket or quotation mark is missing
store-read-todo-colon = After the name of a field comes a colon
store-read-todo-comma = A comma between two fields, or a closing bracket, is missing near here
store-read-todo-field = Add the field to the record that ends here
store-read-todo-format = Write `format: { $format },` as the first field
store-read-todo-mend = Mend this place in a text editor
store-read-todo-newer = Update the program to use it
store-read-todo-not-text = Restore it from a backup, or save it as UTF-8
store-read-todo-number = Write a plain number with a decimal point, without a unit
store-read-todo-text = Put the text in double quotation marks
store-read-todo-true-or-false = Write true or false
store-read-todo-twice = Take one of the two out
store-read-too-large = the file is larger than { $limit_mb } MB, so it was not read
store-read-unread = the file could not be read: { $why }

## store/replay

store-replay-journal-unread = the journal could not be read: { $why }
store-replay-no-bag = an edit in the journal belongs to a bag whose file is missing or cannot be read
store-replay-todo-edit-unread = The other lines were taken
store-replay-todo-journal-unread = Edits made shortly before the last end may be missing
store-replay-todo-no-bag = It is kept and taken up as soon as the file is back

## store/rules

store-rules-todo-unread = A rule pack is a page of text
store-rules-too-large = is larger than a megabyte

## store/settle

store-settle-changed-by-another = { $kind ->
    [bag] the bag was changed by someone else at a later moment
    [drinker] a drinker was changed by someone else at a later moment
    [preferences] the preferences were changed by someone else at a later moment
    [station] the station was changed by someone else at a later moment
   *[pull] a pull was changed by someone else at a later moment
  }
store-settle-no-bag = the file of a bag with new pulls is missing or cannot be read
store-settle-todo-changed-by-another = The later edit stands, this one is kept as an earlier version; open the notebook anew
store-settle-todo-no-bag = Put it back; the pulls are kept in the journal

## store/text

store-text-not-finite = a finite number is needed here
store-text-unknown-word = the word “{ $word }” is not known here; use one of { $words }

## store/together

store-together-differed = { $n ->
    [one] One record differed; its earlier version is kept
   *[other] { $n } records differed; their earlier versions are kept
  }
store-together-merged = this copy was merged into { $file } and put into set-aside
store-together-other-pack = the other notebook has a different file of this name
store-together-pack-unread = the file could not be read: { $why }
store-together-todo-other-pack = Ours was left as it is; copy the other one by hand under another name if it is wanted
store-together-todo-pack-unread = It was not copied; copy it by hand if it is wanted
store-together-todo-unmerged = It will be tried again at the next opening
store-together-todo-versions-unread = The records themselves are taken
store-together-versions-unread = the earlier versions could not be read: { $why }

## store/traces

store-traces-todo = Take the trace in again from its source

## store/v1

store-v1-grinder = grinder
store-v1-liking = a liking is a whole number from 1 to 9; { $value } is not
store-v1-mark = a mark is a whole number from -2 to 2; { $value } is not
store-v1-scale = scale

## control/mixed

control-mixed-column = column { $at }
control-mixed-length = “{ $what }” has { $got } entries for { $want } values
control-mixed-not-finite = every value must be finite
control-mixed-singular = the columns of the fixed part say the same thing twice
control-mixed-too-few = { $n } values are too few to separate the causes
control-mixed-too-many = { $n } different people, stations and coffees are more than the fit takes (300)

## control/opening

control-opening-burrs = Unplug the grinder before opening it or reaching into the chute.
control-opening-clean = Flush the group for 3 seconds; basket clean and dry
control-opening-coarser = { $n ->
    [one] { $coffee }: move the grinder { $n } click coarser ({ $why })
   *[other] { $coffee }: move the grinder { $n } clicks coarser ({ $why })
  }
control-opening-finer = { $n ->
    [one] { $coffee }: move the grinder { $n } click finer ({ $why })
   *[other] { $coffee }: move the grinder { $n } clicks finer ({ $why })
  }
control-opening-first-pull = { $coffee }: pull one to warm the path and pour it away ({ $recipe })
control-opening-hot = Steam, water and the group are hot: hands and face clear, and never unlock a basket holder under pressure.
control-opening-judged-pull = { $coffee }: pull, weigh and time; enter dose, cup and time ({ $recipe })
control-opening-purge = { $coffee }: grind { $purge } through and throw it away
control-opening-recipe = { $dose } in, { $drink } out
control-opening-record = { $coffee }: do what the verdict says, then sign
control-opening-scale = Put a known mass on the scale and compare
control-opening-scale-with = Put the { $mass } mass on the scale: it must read { $mass } within { $least }
control-opening-serve = serve { $range }
control-opening-taste = { $coffee }: let it cool a little, stir, taste
control-opening-temperature = { $station }: the brew temperature should show { $temperature }, within { $within }
control-opening-timed-recipe = { $dose } in, { $drink } out, { $window }
control-opening-warm-up = Check that the machine has been on for 30 minutes or more and shows its usual pressures
control-opening-window = aim { $target } s, serve { $range }

## control/rules

control-rules-eight-on-one-side = eight in a row on one side
control-rules-four-of-five-beyond-one = four of five somewhat off on one side
control-rules-fourteen-alternating = fourteen going up and down in turn
control-rules-one-beyond-three = one value far outside
control-rules-six-trending = six in a row going one way
control-rules-two-of-three-beyond-two = two of three well off on one side

## control/verdict

control-verdict-added-up = { $way ->
    [up] { $what } stands about { $percent } % up from the target ({ $sure })
   *[down] { $what } stands about { $percent } % down from the target ({ $sure })
  }
control-verdict-alone = { $heard ->
    [one] the other coffee on this grinder stayed where it was expected: these beans rather than the grinder
   *[other] the { $heard } other coffees on this grinder stayed where they were expected: these beans rather than the grinder
  }
control-verdict-asked = the last verdict asked for it
control-verdict-bad-pull = the last pull looks badly prepared ({ $sure })
control-verdict-closed-off = it closed off target
control-verdict-colder = it is { $by } colder than yesterday
control-verdict-drift-shared = { $heard ->
    [one] { $same_way } of { $heard } other coffee on this grinder goes the same way from day to day: the grinder or the room rather than these beans ({ $sure })
   *[other] { $same_way } of { $heard } other coffees on this grinder go the same way from day to day: the grinder or the room rather than these beans ({ $sure })
  }
control-verdict-drifting = { $way ->
    [up] { $what } is going up by about { $percent } % a day ({ $sure } that it is real)
   *[down] { $what } is going down by about { $percent } % a day ({ $sure } that it is real)
  }
control-verdict-in-10 = { $n } in 10
control-verdict-in-100 = { $n } in 100
control-verdict-jumped = { $way ->
    [up] { $what } went up by about { $percent } % ({ $sure } that it is real)
   *[down] { $what } went down by about { $percent } % ({ $sure } that it is real)
  }
control-verdict-more-than-99 = more than 99 in 100
control-verdict-older = { $days ->
    [one] the beans are a day older
   *[other] the beans are { $days } days older
  }
control-verdict-on-target = { $what } moved, and stands on the target: nothing to touch
control-verdict-others-faster = the grinder's other coffees have been running faster
control-verdict-others-slower = the grinder's other coffees have been running slower
control-verdict-quiet = nothing stands out ({ $sure } that nothing moved noticeably)
control-verdict-scatter = the pulls scatter by { $seen } % where { $usual } % is usual ({ $sure }): the spread, not the level, is off
control-verdict-shared = { $heard ->
    [one] { $same_way } of { $heard } other coffee on this grinder went the same way this morning: the grinder or the room rather than these beans ({ $sure })
   *[other] { $same_way } of { $heard } other coffees on this grinder went the same way this morning: the grinder or the room rather than these beans ({ $sure })
  }
control-verdict-start = { $start }: { $because }
control-verdict-start-coarser = { $n ->
    [one] start { $n } click coarser
   *[other] start { $n } clicks coarser
  }
control-verdict-start-finer = { $n ->
    [one] start { $n } click finer
   *[other] start { $n } clicks finer
  }
control-verdict-start-same = start where yesterday closed
control-verdict-unclear = it may have moved ({ $sure }), or it was one odd pull
control-verdict-warmer = it is { $by } warmer than yesterday
control-verdict-within-reach = { $way ->
    [up] { $what } moved, but at { $percent } % up of the target no click brings it nearer
   *[down] { $what } moved, but at { $percent } % down of the target no click brings it nearer
  }

## advisor/beliefs

advisor-beliefs-ageing = { $way ->
    [faster] Pulls of this bag get faster by about { $percent } % a day (±{ $sd }).
   *[slower] Pulls of this bag get slower by about { $percent } % a day (±{ $sd }).
  }
advisor-beliefs-boldest = A larger chance of coming near the best cup, at more risk of a bad one.
advisor-beliefs-cheapest = Less coffee, for a cup at least nearly as good.
advisor-beliefs-extraction = The balance that suits lies near { $ideal } % extraction (±{ $sd }).
advisor-beliefs-safest = A smaller risk of a bad cup.
advisor-beliefs-simplest = One lever alone, so that the next cup tells what it did.
advisor-beliefs-spoiled = Pull { $n } was probably badly prepared ({ $in_100 } in 100).
advisor-beliefs-step = One step of the grinder changes the time by about { $percent } % (±{ $sd }).
advisor-beliefs-strength = This drinker probably likes a strength of about { $mean } % ({ $low }–{ $high }).
advisor-beliefs-tomorrow = { $way ->
    [faster] Tomorrow morning: expect it { $by_s } s faster (±{ $doubt_s } s) from age alone. Discard or do not judge the first pull after a pause.
   *[slower] Tomorrow morning: expect it { $by_s } s slower (±{ $doubt_s } s) from age alone. Discard or do not judge the first pull after a pause.
  }
advisor-beliefs-tomorrow-days = { $way ->
    [faster] Tomorrow morning: expect it { $by_s } s faster (±{ $doubt_s } s) from age alone; about one step finer every { $days } days. Discard or do not judge the first pull after a pause.
   *[slower] Tomorrow morning: expect it { $by_s } s slower (±{ $doubt_s } s) from age alone; about one step coarser every { $days } days. Discard or do not judge the first pull after a pause.
  }
advisor-beliefs-tomorrow-same = Tomorrow morning: about the same time is expected; check with one pull.
advisor-beliefs-tomorrow-steps = { $way ->
    [faster] Tomorrow morning: expect it { $by_s } s faster (±{ $doubt_s } s) from age alone; set the grinder { $steps } steps finer. Discard or do not judge the first pull after a pause.
   *[slower] Tomorrow morning: expect it { $by_s } s slower (±{ $doubt_s } s) from age alone; set the grinder { $steps } steps coarser. Discard or do not judge the first pull after a pause.
  }
advisor-beliefs-top = The best cup of this bag is worth about { $top } of 9 to this drinker (±{ $sd }).
advisor-beliefs-uneven = Beyond about { $onset_s } s ({ $low_s }–{ $high_s }) the bed is expected to turn uneven.

## advisor/clauses

advisor-clauses-between = { $lever ->
    [grind] no grind
    [dose] no dose
    [yield] no amount of drink
   *[temperature] no temperature
  } between those of pulls { $n } was tried yet
advisor-clauses-by-what-is-usual = that is usually the better bet
advisor-clauses-choked = { $pulls ->
    [0] it
    [one] pull { $n }
   *[other] pulls { $n }
  } choked
advisor-clauses-dripped = { $pulls ->
    [0] it
    [one] pull { $n }
   *[other] pulls { $n }
  } dripped after { $time_s } s
advisor-clauses-far-too-bitter = far too bitter
advisor-clauses-far-too-sour = far too sour
advisor-clauses-far-too-strong = far too strong
advisor-clauses-far-too-weak = far too weak
advisor-clauses-had-it-so = pull { $n } had it so, but differed otherwise
advisor-clauses-jets = { $pulls ->
    [0] it
    [one] pull { $n }
   *[other] pulls { $n }
  } spurted
advisor-clauses-liked = { $pulls ->
    [0] it was
    [one] pull { $n } was
   *[other] pulls { $n } were
  } liked { $liking } of 9
advisor-clauses-liked-better = { $pulls ->
    [0] it was
    [one] pull { $n } was
   *[other] pulls { $n } were
  } liked better ({ $liking } of 9)
advisor-clauses-marked = you marked { $pulls ->
    [0] it
    [one] pull { $n }
   *[other] pulls { $n }
  } { $marks }
advisor-clauses-not-bitter-enough = not bitter enough
advisor-clauses-not-drying-enough = not drying enough
advisor-clauses-not-sour-enough = not sour enough
advisor-clauses-not-sweet-enough = not sweet enough
advisor-clauses-ran = { $pulls ->
    [0] it
    [one] pull { $n }
   *[other] pulls { $n }
  } ran { $time_s } s
advisor-clauses-ran-faster = { $pulls ->
    [0] it
    [one] pull { $n }
   *[other] pulls { $n }
  } ran faster, { $time_s } s, though ground finer
advisor-clauses-read-extraction = { $pulls ->
    [0] it
    [one] pull { $n }
   *[other] pulls { $n }
  } measured { $read } % extraction (about { $suits } % seems to suit)
advisor-clauses-read-strength = { $pulls ->
    [0] it
    [one] pull { $n }
   *[other] pulls { $n }
  } measured { $read } % strength (about { $suits } % seems to suit)
advisor-clauses-too-bitter = too bitter
advisor-clauses-too-drying = too drying
advisor-clauses-too-heavy = too heavy
advisor-clauses-too-sour = too sour
advisor-clauses-too-strong = too strong
advisor-clauses-too-sweet = too sweet
advisor-clauses-too-thin = too thin
advisor-clauses-too-weak = too weak
advisor-clauses-untried-coarser = no pull was ground so coarse yet
advisor-clauses-untried-cooler = no pull was so cool yet
advisor-clauses-untried-finer = no pull was ground so fine yet
advisor-clauses-untried-hotter = no pull was so hot yet
advisor-clauses-untried-less-dose = no pull had so little coffee yet
advisor-clauses-untried-less-yield = no pull had so little drink yet
advisor-clauses-untried-more-dose = no pull had so much coffee yet
advisor-clauses-untried-more-yield = no pull had so much drink yet
advisor-clauses-was-like-it = pull { $n } was like it, and another cup tells more

## advisor/facts

advisor-facts-changed = { $way ->
    [slower] Pulls { $pulls } agree with each other and ran slower, for their settings, than those before: something has changed, the grinder, the dose, the beans or the room. Earlier pulls still count, as if the grinder had moved about { $n } { $n ->
        [one] step
       *[other] steps
    } finer since.
   *[faster] Pulls { $pulls } agree with each other and ran faster, for their settings, than those before: something has changed, the grinder, the dose, the beans or the room. Earlier pulls still count, as if the grinder had moved about { $n } { $n ->
        [one] step
       *[other] steps
    } coarser since.
  }
advisor-facts-channel = The trace of pull { $n } shows resistance falling suddenly { $at_s } s after the pump came on ({ $tenths } in 10): water probably tunnelled, so its time and taste count for less.
advisor-facts-choked-at-the-end = Pull { $n } choked, and this gear can grind no coarser and hold no less coffee: look at the grinder's zero point and at which way is finer, and at basket, dose and tamp, before another pull.
advisor-facts-choked-cup = Pull { $n } is marked as choked and yet was tasted: it is taken as choked, and what was said of its cup is left out. Where it did run, take the mark off.
advisor-facts-contradiction = Pull { $n } was { $marks }: marks that pull both ways say more about the preparation than about a setting.
advisor-facts-direction = Pulls called coarser ran slower and those called finer ran faster: the grinder's direction was probably entered the wrong way round. Check which way is finer; until then the pulls are believed, not the entry.
advisor-facts-direction-chokes = Pulls called coarser choked and those called finer ran: the grinder's direction was probably entered the wrong way round. Check which way is finer; until then the pulls are believed, not the entry.
advisor-facts-direction-earlier = In earlier bags pulls called coarser ran slower and those called finer ran faster: the grinder's direction was probably entered the wrong way round. Check which way is finer; until then the pulls are believed, not the entry.
advisor-facts-disagreeing = Pulls { $pulls } were liked from { $least } to { $best } of 9, by turns, though of one recipe: that is preparation, machine or palate more than a setting, and until they agree nothing is moved.
advisor-facts-fixed-gear = Every range of this gear holds one setting, so that no lever can be moved: widen the ranges, or change how the puck is prepared.
advisor-facts-impossible-extraction = Pull { $n } would have { $extraction } % extracted, more than coffee holds: check yield, dose and strength. That reading is left out.
advisor-facts-impossible-strength = Pull { $n } measured { $strength } % strength, which no espresso has: check the reading. It is left out.
advisor-facts-last-coffee = { $n ->
    [0] By the doses on record less coffee is left in this bag than one pull takes.
    [one] By the doses on record coffee is left for one more pull: it aims at the best cup, not at finding out.
   *[other] By the doses on record coffee is left for { $n } more pulls: less is spent on finding out, more on each cup.
  }
advisor-facts-low-extraction = Pull { $n } would have only { $extraction } % extracted: check yield, dose and strength. That reading is left out.
advisor-facts-other-dose = Pull { $n } took { $got } of coffee where { $planned } was planned: { $again ->
    [yes] where that was a slip, weigh { $planned } again
   *[other] the next recipe goes by what was used
  }.
advisor-facts-out-of-the-window = It is expected to take about { $time_s } s, outside the window of { $from } to { $to } s: what was tasted counts for more than the clock.
advisor-facts-out-of-the-window-untasted = It is expected to take about { $time_s } s, outside the window of { $from } to { $to } s.
advisor-facts-praised-though-off = Pull { $n } was liked { $liking } of 9 and yet { $marks }: one of the two is probably a slip; mend it where it is.
advisor-facts-ran-past = Pull { $n } gave { $got } of drink where { $planned } was planned: its time and taste are judged as those of such a cup.
advisor-facts-range = The best grind lies at the end of the grinder's scale; the range may be too small for this coffee.
advisor-facts-scatter = Pulls { $pulls } ran { $from } to { $to } s from one recipe: that is dose, distribution, tamp or old grounds more than a setting, and until they agree no time says much.
advisor-facts-start-outside = The recipe to begin with asks for { $asked }, and this gear is said to take { $from } to { $to }: is a unit, or a ratio in place of grams, meant? It begins within the range.
advisor-facts-stray-cup = Pull { $n } is a lesser cup from a recipe that was good twice running: the palate, the puck or the machine explain it better than the recipe.
advisor-facts-trace-cup = On the trace of pull { $n } the cup gained { $measured }, and { $said } of drink were written down: is it the trace of this pull, and is the number right? What was written down is used.
advisor-facts-trace-time = The trace of pull { $n } shows { $measured } s, and { $said } s were written down: is it the trace of this pull, and is the number right? What was written down is used.
advisor-facts-units = Pull { $n } has { $drink } of drink from { $coffee } of coffee: is a unit or a decimal mark wrong?
advisor-facts-unlikely-heat = Pull { $n } is said to have had brew water of { $heat }: is a unit or a decimal mark wrong?
advisor-facts-unlikely-time = Pull { $n } is said to have taken { $time_s } s: are these minutes, or is a decimal mark wrong?
advisor-facts-unlikely-window = The window that was named ends at { $to } s, and no pull is so short: are these minutes?
advisor-facts-unsaid = Pull { $n } was marked just right and yet disliked: say what was wrong with it, or pull it once more.

## advisor/reasons

advisor-reasons-age = Pull { $n } ran { $now_s } s, and the same recipe { $then_s } s as pull { $then } { $days ->
    [one] a day
   *[other] { $days } days
  } before: beans run faster as they age.
advisor-reasons-coarser = a coarser grind
advisor-reasons-conflict = A rule of thumb says { $moves } ({ $rule }). The model, which weighs all that is known, says { $model }.
advisor-reasons-dose = dose { $from } → { $to }
advisor-reasons-earlier = { $of ->
    [one] An earlier bag on this grinder has
   *[other] Earlier bags on this grinder have
  } a say in where to begin: { $bags }{ $n ->
    [0] {""}
   *[other] {" "}(and { $n } more)
  }.
advisor-reasons-earlier-unnamed = { $n ->
    [one] An earlier bag on this grinder has
   *[other] { $n } earlier bags on this grinder have
  } a say in where to begin.
advisor-reasons-evidence = { $moves }, because { $clauses }.
advisor-reasons-evidence-besides = { $moves }, because { $clauses }; { $besides } { $n ->
    [one] goes
   *[other] go
  } with it.
advisor-reasons-finding-out = { $moves }, to find out: { $clauses }.
advisor-reasons-finer = a finer grind
advisor-reasons-gain = Expected gain over the last recipe: about { $gain } points of liking.
advisor-reasons-gain-by = By all that { $n ->
    [one] pull { $pulls }
   *[other] pulls { $pulls } together
  } told, about { $gain } points of liking more than from the last recipe.
advisor-reasons-gain-first = Expected gain over the recipe that was to begin with: about { $gain } points of liking.
advisor-reasons-gain-usual = By what is usual, and all that { $n ->
    [one] pull { $pulls }
   *[other] pulls { $pulls } together
  } told, about { $gain } points of liking more than from the last recipe.
advisor-reasons-less-dose = less dose
advisor-reasons-less-heat = less heat
advisor-reasons-less-yield = less drink in the cup
advisor-reasons-more-dose = more dose
advisor-reasons-more-heat = more heat
advisor-reasons-more-yield = more drink in the cup
advisor-reasons-no-change = no change
advisor-reasons-no-gain = Its cup may be no better than the last one, but it tells more about where the best one lies.
advisor-reasons-odd-choke = Pull { $n } choked where a grind as fine ran before: look at dose, distribution and tamp, and pull the same again before the grinder is moved.
advisor-reasons-odd-first = Pull { $n } is far from what was to be expected; it counts for little until it is repeated.
advisor-reasons-odd-moves = Pull { $n } is far from what was to be expected and counts for less; even so a move is worth more than the same pull again.
advisor-reasons-odd-pull = Pull { $n } does not fit the others; it counts for little until it is repeated.
advisor-reasons-overruled = { $said }; a stronger rule says the opposite ({ $by })
advisor-reasons-pressure = Let the pressure fall before you loosen the basket holder.
advisor-reasons-purge = After moving the grinder, purge a few grams: the old grind is still in the chute.
advisor-reasons-rule = { $because }.
advisor-reasons-rule-moves = { $because } ({ $moves })
advisor-reasons-rule-of-pull = Pull { $n }: { $because }.
advisor-reasons-settled = Another change is not worth its coffee: this recipe is very likely within half a point of the best.
advisor-reasons-settled-back = Go back to the recipe of pull { $n } and keep it: it is very likely within half a point of the best, and another change is not worth its coffee.
advisor-reasons-settled-praised = Its cups could hardly have been liked more: keep this recipe.
advisor-reasons-settled-praised-back = Go back to the recipe of pull { $n } and keep it: its cups could hardly have been liked more.
advisor-reasons-several = Moving { $levers } levers at once tells more about where the best cup lies than any single move.
advisor-reasons-several-chance = Moving { $levers } levers at once is likelier to come near the best cup: { $several } in 100, against { $single } in 100 for the best single move.
advisor-reasons-several-gain = Moving { $levers } levers at once promises about { $gain } points of liking more than any single move.
advisor-reasons-stay = No move promises more than this recipe does now; another pull of it tells more.
advisor-reasons-stay-again = A move may promise more, but one more pull of this recipe tells more first.
advisor-reasons-stay-check = Pull the same again before anything is moved.
advisor-reasons-stay-first = Nothing is known yet; begin with this recipe and taste it.
advisor-reasons-stay-first-as-named = Begin with the recipe that was named and taste it: then there is something to go by.
advisor-reasons-stay-first-earlier = Nothing promises more than this recipe to begin with; taste it.
advisor-reasons-stay-first-good-there = An earlier bag was good at this setting: begin there and taste it.
advisor-reasons-stay-planned = Pull it as it was planned before anything is moved.
advisor-reasons-stay-taste = Nothing has been said of its taste yet, and the time alone says no more: taste it.
advisor-reasons-stay-unknown = Neither the time nor the taste of pull { $n } is known: time it and taste it before anything is moved.
advisor-reasons-stay-unsaid = Nothing has been said of the taste of pull { $n }: taste this recipe before anything is moved.
advisor-reasons-steps-coarser = { $n ->
    [one] grind { $n } step coarser
   *[other] grind { $n } steps coarser
  }
advisor-reasons-steps-finer = { $n ->
    [one] grind { $n } step finer
   *[other] grind { $n } steps finer
  }
advisor-reasons-temperature = temperature { $from } → { $to }
advisor-reasons-usual = By what is usual this is the better bet; where yours is a recipe you know and like, pull that first.
advisor-reasons-yield = yield { $from } → { $to }

## exchange/export

exchange-export-about =
    Comma-separated values as RFC 4180 describes them: UTF-8, decimal points, text in double quotes where it
    holds a comma, a quote or a line end. Units stand at the end of each column's name. An empty cell means
    "not known", never zero. Words that begin with = + - or @ carry an apostrophe before them, so that a
    spreadsheet does not take them for a formula.
exchange-export-pull-as-sourness-jar = as sourness_jar
exchange-export-pull-bag = name on the bag
exchange-export-pull-bag-id = identifier of the bag
exchange-export-pull-basket-diameter-mm = inner diameter of the basket at the bed, millimetres
exchange-export-pull-choked = 1 when no flow came, else 0
exchange-export-pull-days-since-roast-d = whole days from the roast date to the (UTC) day of the pull; empty without a roast date
exchange-export-pull-dose-g = dry ground coffee, grams
exchange-export-pull-drinker = for whom the bag is dialled in
exchange-export-pull-extraction-pct = strength times yield over dose, percent of the dry dose; empty without a strength
exchange-export-pull-first-drip-s = pump on to first drip, seconds; empty when not noted
exchange-export-pull-grind-setting = setting on the grinder's own scale (no unit; which way is finer is the grinder's)
exchange-export-pull-grinder = the person's own words for the grinder
exchange-export-pull-has-trace = 1 when a trace is kept, else 0
exchange-export-pull-liking-1-9 = liking, 1 dislike extremely to 9 like extremely; empty when not marked
exchange-export-pull-machine = the person's own words for the machine
exchange-export-pull-note = free words
exchange-export-pull-planned-dose-g = what was planned: dose, grams
exchange-export-pull-planned-grind-setting = what was planned: grind; empty when there was no plan
exchange-export-pull-planned-temperature-c = what was planned: temperature, degrees Celsius
exchange-export-pull-planned-yield-g = what was planned: yield, grams
exchange-export-pull-process = washed, natural, honey or other; empty when not known
exchange-export-pull-pull-id = identifier of the pull; sorts by time; the trace file of the pull bears it
exchange-export-pull-pulled-at = when it was pulled, ISO 8601, UTC
exchange-export-pull-pulled-by = who pulled it
exchange-export-pull-ratio-g-per-g = yield over dose, grams per gram
exchange-export-pull-roast-level = light, medium-light, medium, medium-dark or dark; empty when not known
exchange-export-pull-roaster = who roasted it; empty when not written down
exchange-export-pull-sink = 1 when poured away, else 0
exchange-export-pull-sourness-jar = just-about-right mark, -2 far too little, 0 just right, 2 far too much; empty when not marked
exchange-export-pull-spurting = 1 when jets were seen, else 0
exchange-export-pull-station = name of the station: grinder, machine and basket
exchange-export-pull-strength-pct = dissolved solids of the drink, percent by mass; empty when not measured
exchange-export-pull-temperature-c = brew water temperature as set, degrees Celsius; empty where it cannot be set
exchange-export-pull-time-s = pump on to cup away, seconds; empty when not timed
exchange-export-pull-yield-g = drink in the cup, grams
exchange-export-pulls = pulls.csv (and pulls.xlsx): one row a pull
exchange-export-reading = Reading them
exchange-export-title = Tables written by Thirdpull
exchange-export-trace-cup-mass-g = mass in the cup, grams; empty where missing
exchange-export-trace-flow-g-s = flow, grams a second; empty where missing
exchange-export-trace-pressure-bar = pressure above the puck or in the line, bar above atmosphere; empty where missing
exchange-export-trace-temperature-c = water temperature, degrees Celsius; empty where missing
exchange-export-trace-time-s = time on the trace's own clock, seconds; the pump usually goes on near zero
exchange-export-traces = traces.csv: one row a sample, with a first column “pull” (its pull_id)

## exchange/kept

exchange-kept-broken = the file could not be read and is left as it is; delete it to begin anew
exchange-kept-fault = { $path }: { $why }

## exchange/picture

exchange-picture-axis = { $name }, { $unit }
exchange-picture-too-many-pixels = { $width } × { $height } pixels are too many

## exchange/spreadsheet

exchange-spreadsheet-column = column
exchange-spreadsheet-fault = the spreadsheet cannot be made: { $fault }; take the CSV instead
exchange-spreadsheet-meaning = meaning

## exchange/table

exchange-table-broken = { $n ->
    [one] One line is not a whole JSON object and is left out: { $why }.
   *[other] { $n } lines are not whole JSON objects and are left out; the first: { $why }.
  }
exchange-table-in-column = line { $line }, column { $column }: { $sentence }
exchange-table-in-line = line { $line }: { $sentence }
exchange-table-mixed-marks = “{ $name }” mixes decimal point (line { $point }) and decimal comma (line { $comma }).
exchange-table-no-rows = There is no row of numbers in this file.
exchange-table-ragged = { $n ->
    [one] One of { $rows } rows has { $got } fields instead of the { $want } expected.
   *[other] { $n } of { $rows } rows have another number of fields than the { $want } expected; the first has { $got }.
  }
exchange-table-unreadable = “{ $name }” has { $n } cells that are no numbers; the first is “{ $first }”.

## exchange/table/delimited

exchange-table-delimited-doubled-commas = the header has { $names } names but the rows have { $fields } fields: commas stand both between fields and as decimal marks, which cannot be told apart. Save the table with semicolons or tabs.
exchange-table-delimited-no-rows = no rows of numbers were found. A table needs a column of time and one of pressure, flow, cup mass or temperature.
exchange-table-delimited-skipped = { $n ->
    [one] One line before the table was not read.
   *[other] { $n } lines before the table were not read.
  }
exchange-table-delimited-too-long = the table is too long: at most { $rows } rows and { $numbers } numbers are read. Cut the log into smaller files first.
exchange-table-delimited-too-many-columns = There are more than { $most } columns; that is no trace of a pull.

## exchange/table/import

exchange-table-import-broken = { $n ->
    [one] One line was left out: { $why }.
   *[other] { $n } lines were left out; the first: { $why }.
  }
exchange-table-import-channel-twice = Two columns are chosen for { $channel }; choose one.
exchange-table-import-column-twice = “{ $name }” is chosen twice; each column can be one thing.
exchange-table-import-empty-channel = “{ $name }” has no value in this run and is left out.
exchange-table-import-gaps = { $n ->
    [one] There is a gap of { $longest_s } s after { $place_s } s.
   *[other] There are { $n } gaps; the first after { $place_s } s, the longest of { $longest_s } s.
  }
exchange-table-import-mixed-marks = “{ $name }” mixes decimal point (first in line { $point }) and decimal comma (first in line { $comma }), so its numbers cannot be trusted.
exchange-table-import-no-channel = No column is pressure, flow, cup mass or temperature by its name; say which is which.
exchange-table-import-no-column = There is no column { $column }; the file has { $columns }.
exchange-table-import-no-numbers = { $n ->
    [one] “{ $first }” is no number; “{ $name }” has { $n } cell like it. Choose another column or mend the file.
   *[other] “{ $first }” is no number; “{ $name }” has { $n } cells like it. Choose another column or mend the file.
  }
exchange-table-import-no-run = The file holds { $runs } runs; there is no run { $run }.
exchange-table-import-no-trace = { $why }.
exchange-table-import-not-finite = { $n ->
    [one] In “{ $name }” { $n } cell is not finite, left as gaps.
   *[other] In “{ $name }” { $n } cells are not finite, left as gaps.
  }
exchange-table-import-not-one-finite = “{ $name }” holds no finite number.
exchange-table-import-out-of-range = { $n ->
    [one] One value of “{ $name }” cannot be real ({ $value } { $unit }) and is left as a gap.
   *[other] { $n } values of “{ $name }” cannot be real (the first is { $value } { $unit }) and are left as gaps.
  }
exchange-table-import-ragged = { $n ->
    [one] { $n } row has more or fewer than { $want } fields.
   *[other] { $n } rows have more or fewer than { $want } fields.
  }
exchange-table-import-several-runs = The clock starts again: the file holds { $runs } runs; this is number { $run }.
exchange-table-import-step = The time from sample to sample must be above 0 and at most 60 s.
exchange-table-import-thousands = In “{ $name }” the mark in { $written } may be a decimal one or part thousands, so it may be { $small } or { $large }. Write its numbers without marks between thousands and import the file again.
exchange-table-import-too-ragged = this row has { $got } fields where { $want } are expected, and { $n } of { $rows } rows are so. Every row needs the same fields.
exchange-table-import-unit = “{ $name }” cannot be read in { $unit }: that is no unit of { $quantity }.
exchange-table-import-unreadable = { $n ->
    [one] In “{ $name }” { $n } cell is without a number (the first is “{ $first }”) left as gaps.
   *[other] In “{ $name }” { $n } cells are without a number (the first is “{ $first }”) left as gaps.
  }
exchange-table-import-wrong-unit = { $value } { $unit } is no { $channel } of a pull, and { $n } of { $values } values are so. Choose another unit or column.
exchange-table-import-zero = The start of time must be a finite number of seconds.

## exchange/table/json_lines

exchange-table-json-lines-cut-off = the object that begins “{ $begins }” is cut off
exchange-table-json-lines-not-whole = “{ $text }” is no whole JSON object
exchange-table-json-lines-object = a JSON object
exchange-table-json-lines-too-long = the log is too long: at most { $rows } rows and { $numbers } numbers are read. Cut it into smaller files first.
exchange-table-json-lines-too-many-broken = { $n ->
    [one] { $why }. A log needs one whole JSON object on each line; one line is not.
   *[other] { $why }. A log needs one whole JSON object on each line; { $n } lines are not.
  }
exchange-table-json-lines-too-many-keys = there are more than { $most } keys; that is no log of a pull.

## exchange/table/preview

exchange-table-preview-log = A log of one JSON object a line.
exchange-table-preview-table = A table with { $between ->
    [comma] a comma
    [semicolon] a semicolon
    [tab] a tab
    [bar] a bar
   *[spaces] spaces
  } between fields, decimal { $mark ->
    [comma] comma
   *[point] point
  }, { $header ->
    [yes] names in a header
   *[no] no header
  }.

## exchange/table/runs

exchange-table-runs-coarse-clock = The clock ticks every { $tick_s } s but there are more samples; they were spread evenly within each tick.
exchange-table-runs-falls = { $n ->
    [one] time runs backwards once, from { $from_s } to { $to_s } s. Is this the column of time?
   *[other] time runs backwards, from { $from_s } to { $to_s } s, and does so { $n } times. Is this the column of time?
  }
exchange-table-runs-left-out = { $n ->
    [one] One row without a time was left out.
   *[other] { $n } rows without a time were left out.
  }
exchange-table-runs-out-of-order = { $n ->
    [one] One row with a time out of order was left out.
   *[other] { $n } rows with a time out of order were left out.
  }
exchange-table-runs-repeats = { $n ->
    [one] One row repeats a time and was put together with the first of it.
   *[other] { $n } rows repeat a time and were put together with the first of it.
  }
exchange-table-runs-steps-back = { $n ->
    [one] time runs backwards here. Is this the column of time?
   *[other] time runs backwards here and in { $n } rows in all. Is this the column of time?
  }
exchange-table-runs-without-time = { $n ->
    [one] One of { $rows } rows has no time.
   *[other] { $n } of { $rows } rows have no time.
  }

## exchange/table/text

exchange-table-text-cannot-be-read = “{ $name }” cannot be read: { $why }.
exchange-table-text-control-bytes = control bytes everywhere: this is not a text file.
exchange-table-text-empty = The file is empty.
exchange-table-text-file-too-big = “{ $name }” has { $mb } MB; at most { $most_mb } MB are read. Cut the log into smaller files first.
exchange-table-text-folder = “{ $name }” is a folder; choose a file in it.
exchange-table-text-line-too-long = this line has { $bytes } bytes; at most { $most } are read in one line. This is not a table of samples.
exchange-table-text-name-not-allowed = the file system does not allow this name; check the path
exchange-table-text-no-ordinary-file = “{ $name }” is no ordinary file.
exchange-table-text-no-permission = you have no permission to read it; ask for it, or copy it elsewhere
exchange-table-text-not-a-folder = part of its path is a file, not a folder; check the path
exchange-table-text-not-found = there is no such file; check the path, or choose the file
exchange-table-text-too-big = The text has { $mb } MB; at most { $most_mb } MB are read.
exchange-table-text-too-long = The text is longer than can be read. Cut the log into smaller files first.
exchange-table-text-zero-byte = byte { $place } is zero: this is not a text file (or UTF-16 without its mark; save it as UTF-8).

## ui

work-ui-thirdpull-gallery = Thirdpull gallery

## ui/actions

actions-align = Align by pump on or by first drip
actions-another-idea = Another idea
actions-bag-down = Bag below
actions-bag-up = Bag above
actions-bar = Bar: large targets
actions-bar-card = Bar card of the keeper, to print
actions-beliefs = Taste map: what it believes
actions-bring-back = Bring back what was put away last
actions-cancel = Put away, give up
actions-class = Class: large type, advice covered
actions-clock = Pull: pump on, first drip, cup away
actions-compare = Compare any pulls
actions-cup-away = Cup away without a first drip
actions-dark = Light or dark
actions-drinkers = Drinkers
actions-edit-bag = Change the bag
actions-edit-pull = Change the selected pull
actions-enter-by-hand = Enter a pull without the clock
actions-expected = Expected trace of the next pull
actions-finish-bag = Bag used up, or back to the shelf
actions-fullscreen = Whole screen
actions-group-everywhere = Everywhere
actions-group-ledger = Ledger and strips
actions-group-notebook = Notebook
actions-group-pull = Pull
actions-group-shelf = Shelf
actions-home = Home
actions-import = Attach a trace file
actions-keep = Keep a recipe, or let the keeper go
actions-keys = Keys
actions-live = Live instrument
actions-new-bag = New bag
actions-notebook = The notebook: backups, sharing, where it lies
actions-opening = Opening: the bar this morning
actions-overlay = Lay the selected pull over the others
actions-overlay-all = Lay all pulls over each other
actions-palette = All actions by name
actions-pass-on = Pass on a bag
actions-practice = Practice bench
actions-problems = What was found wrong
actions-quit = Quit
actions-redo = Redo
actions-remove-pull = Remove the selected pull
actions-reveal = Cover or reveal the advice
actions-row-down = Select the pull below
actions-row-up = Select the pull above
actions-search = Search the shelf
actions-settings = Settings
actions-stations = Stations
actions-take-in = Take in a packet or another notebook
actions-undo = Undo
actions-versions = Earlier versions
actions-what-if = What if: move a lever, see what to expect
actions-why = All reasons
key-delete = Del
key-enter = Enter
key-escape = Esc
key-space = Space
key-tab = Tab
key-with-ctrl = Ctrl { $key }

## ui/acts

acts-done-again = Done again: { $name }
acts-no-pull-can-be-recorded = No pull can be recorded: { $why }
acts-nothing-to-do-again = Nothing to do again
acts-nothing-was-moved-yet = Nothing was moved yet
acts-the-clock-was-stopped-nothing-was = The clock was stopped; nothing was recorded
acts-this-bag-is-used-up = This bag is used up: take it back ({ $key }) before a pull
acts-undone = Undone: { $name }

## ui/app

app-it-stays-until-the-window-is-closed = It stays until the window is closed, but could not be kept. { $why }
app-not-closed-something-typed-is-not = Not closed: something typed is not saved yet. Save it, or close once more to give it up
app-not-closed-what-you-did-last = Not closed: what you did last is not on disk yet. Make room and try again, or close once more to give it up

## ui/believing

believing-foresight = foresight

## ui/dialogs

dialogs-all-actions = All actions
dialogs-attach-a-trace = Attach a trace
dialogs-bar-card = Bar card
dialogs-change-the-bag = Change the bag
dialogs-change-the-drinker = Change the drinker
dialogs-change-the-station = Change the station
dialogs-close-esc = Close  Esc
dialogs-compare-pulls = Compare pulls
dialogs-drinkers = Drinkers
dialogs-keys = Keys
dialogs-live-instrument = Live instrument
dialogs-new-bag = New bag
dialogs-new-drinker = New drinker
dialogs-new-station = New station
dialogs-settings = Settings
dialogs-stations = Stations
dialogs-what-was-found-wrong = What was found wrong

## ui/dialogs/ask

dialogs-ask-file-to-write = File to write
dialogs-ask-no-file-dialog-could-be-opened = no file dialog could be opened; type the path instead
dialogs-ask-that-file-is-there-already-give = that file is there already; give another name
dialogs-ask-write = Write
dialogs-ask-written-to = Written to { $path }

## ui/dialogs/bag

dialogs-bag-choose = choose…
dialogs-bag-currency = Currency
dialogs-bag-drinker = Drinker
dialogs-bag-eur = EUR
dialogs-bag-from = From
dialogs-bag-mass-when-full = Mass when full
dialogs-bag-name-on-the-bag = Name on the bag
dialogs-bag-note = Note
dialogs-bag-opened = opened
dialogs-bag-opened-on-empty-resting = Opened on (empty: resting)
dialogs-bag-price = Price
dialogs-bag-process = Process
dialogs-bag-put-it-on-the-shelf = Put it on the shelf
dialogs-bag-remove-this-bag = Remove this bag
dialogs-bag-roast = Roast
dialogs-bag-roasted = roasted
dialogs-bag-roasted-on = Roasted on
dialogs-bag-roaster = Roaster
dialogs-bag-save = Save
dialogs-bag-station = Station
dialogs-bag-time-window-of-the-house-may = Time window of the house (may be left empty)
dialogs-bag-to = To
dialogs-bag-where-and-for-whom = Where and for whom
dialogs-bag-where-to-begin-leave-the-grind = Where to begin (leave the grind empty for no idea)

## ui/dialogs/beliefs

dialogs-beliefs-and = { $lever_word } and { $to_lowercase }
dialogs-beliefs-as-numbers = As numbers
dialogs-beliefs-band-expected = Band: expected.
dialogs-beliefs-band-expected-dashed-the-last-trace = Band: expected. Dashed: the last trace.
dialogs-beliefs-best = Best
dialogs-beliefs-choose-a-bag-first = Choose a bag first.
dialogs-beliefs-end = End
dialogs-beliefs-expected = expected
dialogs-beliefs-expected-trace = Expected trace
dialogs-beliefs-home = Home
dialogs-beliefs-liking = { $column }, { $name }: liking { $cell }
dialogs-beliefs-lines-equal-liking-covered = Lines: equal liking. Hatched: unsure by a point or more. Figures: your pulls in order. Arrow keys or a click read the map. The answer stays covered.
dialogs-beliefs-lines-equal-liking-hatched-unsure-by = Lines: equal liking. Hatched: unsure by a point or more. Figures: your pulls in order. Arrow keys or a click read the map; Home: best, End: next pull.
dialogs-beliefs-mean-liking = Mean liking { $mean } ± { $sd }. { $against }
dialogs-beliefs-mean-liking-its-standard-deviation = Mean liking ± its standard deviation.
dialogs-beliefs-middle = middle { $middle }
dialogs-beliefs-next-pull = Next pull
dialogs-beliefs-over-which-levers = Over which levers
dialogs-beliefs-pull = pull { $number }
dialogs-beliefs-shown = Shown
dialogs-beliefs-slider = { $word } slider, { $shown }
dialogs-beliefs-taste-map = Taste map
dialogs-beliefs-the-model-knows-no-pull-of = The model knows no pull of such a time.
dialogs-beliefs-what-if = What if
dialogs-beliefs-what-it-believes = What it believes
dialogs-beliefs-working-it-out = Working it out…

## ui/dialogs/card

dialogs-card-bar-card = Bar card. { $title }: { $join }. { $join_2 }
dialogs-card-bar-card-2 = Bar card
dialogs-card-has-no-keeper-yet-keeps-one = “{ $name }” has no keeper yet: { $key } keeps one
dialogs-card-name-a-file-that-ends-in = name a file that ends in .pdf, .png or .svg
dialogs-card-one-a4-page-print-the-pdf = One A4 page. Print the PDF from any viewer.
dialogs-card-or-its-path-pdf-png-svg = or its path: .pdf .png .svg
dialogs-card-page = Page
dialogs-card-save-as = Save as…
dialogs-card-the-station-of-this-bag-is = The station of this bag is gone

## ui/dialogs/compare

dialogs-compare-a-trace-could-not-be-read = a trace could not be read; it was left out
dialogs-compare-aligned-by = Aligned by
dialogs-compare-at-s = at { $number } s
dialogs-compare-best-match = Best match
dialogs-compare-choose-pulls-at-the-left-those = Choose pulls at the left. Those with a trace can be laid over each other, from any bag.
dialogs-compare-chosen-pull = Chosen pull
dialogs-compare-cleaned = Cleaned
dialogs-compare-closer-pgup = Closer  PgUp
dialogs-compare-cup-mass-at-zero-g = Cup mass at zero, g
dialogs-compare-difference = Difference
dialogs-compare-expected = Expected
dialogs-compare-first-drip = First drip
dialogs-compare-grams = Grams
dialogs-compare-label = Label
dialogs-compare-label-2 = label
dialogs-compare-label-of-the-picked-pull = Label of the picked pull
dialogs-compare-mass = Mass
dialogs-compare-median = Median
dialogs-compare-median-and-middle-half-of-all = Median and middle half of all pulls that are on
dialogs-compare-no-pull = no pull
dialogs-compare-none-picked = none picked
dialogs-compare-picked-pull = Picked pull
dialogs-compare-pump-on = Pump on
dialogs-compare-reading-of-traces = reading of traces
dialogs-compare-spikes-repeats-a-coarse-display-and = Spikes, repeats, a coarse display and the tare mended; flow from mass. Reading says what
dialogs-compare-whole = Whole
dialogs-compare-wider-pgdn = Wider  PgDn
dialogs-compare-without-what-is-put-at-zero = Without what is put at zero, left out: { $join }
dialogs-compare-zero-point-at-a-strip-to = Zero: { $zero }. Point at a strip to read it; click a line to pick it.

## ui/dialogs/compare/files

dialogs-compare-files-name-a-file-that-ends-in = name a file that ends in .png, .svg, .pdf or .csv
dialogs-compare-files-numbers = Numbers
dialogs-compare-files-or-its-path = or its path: .png .svg .pdf .csv
dialogs-compare-files-picture = Picture
dialogs-compare-files-picture-or-numbers = Picture or numbers
dialogs-compare-files-pulls = { $n } pulls
dialogs-compare-files-save-as = Save as…

## ui/dialogs/compare/side

dialogs-compare-side-all = All
dialogs-compare-side-choose-a-pull = Choose a pull.
dialogs-compare-side-liking = liking { $liking }
dialogs-compare-side-no-pull-has-a-trace-yet = No pull has a trace yet.
dialogs-compare-side-none = None
dialogs-compare-side-of = { $word } of { $name }
dialogs-compare-side-pulls = Pulls
dialogs-compare-side-reading = Reading
dialogs-compare-side-reading-the-trace = Reading the trace…
dialogs-compare-side-shown-at-the-left = Shown at the left

## ui/dialogs/drinker

dialogs-drinker-name = Name
dialogs-drinker-note = Note
dialogs-drinker-save = Save
dialogs-drinker-whose-taste-is-to-be-met = Whose taste is to be met: a person, or “the house”.

## ui/dialogs/import

dialogs-import-a-table-comma-semicolon-tab-or = A table (comma, semicolon, tab or spaces) or a log of one JSON object a line: time, and any of pressure, flow, cup mass and temperature. Names and units are guessed, and you can correct them before anything is kept. A folder is read file by file; a long log is cut into its pulls.
dialogs-import-a-trace-file = A trace file
dialogs-import-all-files = All files
dialogs-import-attach-all-in-order-to-the = Attach all { $count }, in order, to the { $count } newest pulls without a trace
dialogs-import-attach-the-trace = Attach the trace
dialogs-import-attach-this-one = Attach this one
dialogs-import-attached = { $counted } attached
dialogs-import-choose-a-file = Choose a file…
dialogs-import-choose-a-file-drop-one-on = choose a file, drop one on the window, or type its path
dialogs-import-count-rows = { $n ->
    [one] { $n } row
   *[other] { $n } rows
  }
dialogs-import-count-traces = { $n ->
    [one] { $n } trace
   *[other] { $n } traces
  }
dialogs-import-gave-a-trace = { $which } gave a trace
dialogs-import-has-a-trace = , has a trace
dialogs-import-line = Line { $line }: { $sentence }
dialogs-import-no-column-is-time-samples-are = No column is time: samples are taken to be { $step_s } s apart.
dialogs-import-no-file-dialog-could-be-opened = no file dialog could be opened; type the path, or drop the file here
dialogs-import-no-file-in-this-folder = no file in this folder
dialogs-import-none-of-these-files = none of these files
dialogs-import-not-used = not used
dialogs-import-or-its-path-or-that-of = or its path, or that of a folder
dialogs-import-path-of-the-file = Path of the file
dialogs-import-pull = pull { $at } · { $when }{ $mark }
dialogs-import-read = Read
dialogs-import-reading = Reading…
dialogs-import-tables-and-logs = Tables and logs
dialogs-import-that-pull-has-a-trace-already = That pull has a trace already; attaching puts this one in its place.
dialogs-import-the-columns-are-as-you-set = The columns are as you set them for the last file of this shape.
dialogs-import-the-columns-could-not-be-remembered = The columns could not be remembered: { $sentence }
dialogs-import-this-bag-has-no-pull-yet = This bag has no pull yet. Record the pull first, then attach its trace.
dialogs-import-this-file = this file
dialogs-import-time = time
dialogs-import-to = To
dialogs-import-to-which-pull = To which pull
dialogs-import-trace-file = trace file
dialogs-import-unit-of = Unit of { $name }
dialogs-import-what-each-column-is = What each column is
dialogs-import-what-is = What { $name } is
dialogs-import-what-will-be-kept = What will be kept
dialogs-import-which-pull-of-several = Which pull of several
dialogs-import-working = Working…

## ui/dialogs/keeping

dialogs-keeping-a-file-that-was-passed-on = A file that was passed on
dialogs-keeping-a-folder = A folder
dialogs-keeping-all-files = All files
dialogs-keeping-backups = Backups
dialogs-keeping-earlier-versions = Earlier versions
dialogs-keeping-no-file-dialog-could-be-opened = no file dialog could be opened; type the path
dialogs-keeping-pass-on = Pass on
dialogs-keeping-passed-on = Passed on
dialogs-keeping-save-elsewhere = Save elsewhere
dialogs-keeping-stop = Stop
dialogs-keeping-stopping = stopping…
dialogs-keeping-tables = Tables
dialogs-keeping-the-backup-was-made = The backup was made.
dialogs-keeping-the-notebook = The notebook
dialogs-keeping-the-notebook-now-lies-in-and = The notebook now lies in { $folder } and everything is saved. Open it again with: thirdpull --notebook "{ $folder }"
dialogs-keeping-the-notebook-stands-as-it-did = The notebook stands as it did then. Undo takes that back.
dialogs-keeping-unpacked-open-it-beside-this-one = Unpacked. Open it beside this one with: thirdpull --notebook "{ $folder }"
dialogs-keeping-where-to-write-it = Where to write it
dialogs-keeping-written-into = Written into { $folder }.
dialogs-keeping-written-to-send-it-as-it = Written to { $file } ({ $size }). Send it as it is.

## ui/dialogs/keeping/backups

dialogs-keeping-backups-choose = Choose…
dialogs-keeping-backups-go-back-to = Go back to { $when }
dialogs-keeping-backups-go-back-to-it = Go back to it…
dialogs-keeping-backups-into-which-folder-new-or-empty = Into which folder (new or empty)
dialogs-keeping-backups-make-one-now = Make one now
dialogs-keeping-backups-make-one-now-or-wait-for = Make one now, or wait for the daily one.
dialogs-keeping-backups-no-backup-yet = No backup yet
dialogs-keeping-backups-not-now = Not now
dialogs-keeping-backups-notebook-of = notebook of { $day }
dialogs-keeping-backups-one-is-made-by-itself-once = One is made by itself once a day; older ones are thinned out, and all together stay under 200 MB. Traces are not in them; one that is replaced goes to set-aside.
dialogs-keeping-backups-say-into-which-folder = say into which folder
dialogs-keeping-backups-the-backup-of = the backup of { $when }
dialogs-keeping-backups-the-notebook-will-stand-as-it = The notebook will stand as it did on { $when }. What was added since is put aside, not deleted; a backup of the present is made first, and Undo takes it all back.
dialogs-keeping-backups-unpack = Unpack…
dialogs-keeping-backups-unpack-it = Unpack it

## ui/dialogs/keeping/elsewhere

dialogs-keeping-elsewhere-choose = Choose…
dialogs-keeping-elsewhere-elsewhere = elsewhere
dialogs-keeping-elsewhere-everything-that-the-window-shows-is = Everything that the window shows is written into another folder, with traces, rule packs and earlier versions where they can still be read. From then on edits go there.
dialogs-keeping-elsewhere-into-which-folder-new-or-empty = Into which folder (new or empty)
dialogs-keeping-elsewhere-now-it-lies-in-what-is = Now it lies in { $place }. What is there stays as it is; the two can be merged later.
dialogs-keeping-elsewhere-say-into-which-folder = say into which folder
dialogs-keeping-elsewhere-thirdpull-notebook = thirdpull notebook
dialogs-keeping-elsewhere-write-it-there = Write it there

## ui/dialogs/keeping/notebook

dialogs-keeping-notebook-a-bag-or-several-as-one = A bag, or several, as one file that anyone can open, answer and send back.
dialogs-keeping-notebook-a-file-that-someone-passed-on = A file that someone passed on, or another copy of this notebook: first see what would change.
dialogs-keeping-notebook-backups = Backups…
dialogs-keeping-notebook-earlier-versions = Earlier versions…
dialogs-keeping-notebook-every-change-is-on-disk-closing = Every change is on disk. Closing the window loses nothing.
dialogs-keeping-notebook-it-lies-in = It lies in { $place }
dialogs-keeping-notebook-keep = Keep
dialogs-keeping-notebook-last-taken-in = Last taken in…
dialogs-keeping-notebook-none-yet-one-is-made-by = None yet; one is made by itself once a day.
dialogs-keeping-notebook-nothing-was-found-wrong = Nothing was found wrong.
dialogs-keeping-notebook-one-thing-to-look-at = One thing to look at.
dialogs-keeping-notebook-pass-on = Pass on…
dialogs-keeping-notebook-pulls-and-traces-for-r-python = Pulls and traces for R, Python and spreadsheets.
dialogs-keeping-notebook-save-elsewhere = Save elsewhere…
dialogs-keeping-notebook-share = Share
dialogs-keeping-notebook-some-edits-are-not-on-disk = Some edits are not on disk yet, because the disk refused them.
dialogs-keeping-notebook-tables = Tables…
dialogs-keeping-notebook-take-in = Take in…
dialogs-keeping-notebook-the-newest-is-of = The newest is of { $when } ({ $ago }).
dialogs-keeping-notebook-things-to-look-at = { $n } things to look at.
dialogs-keeping-notebook-what-a-bag-pull-station-or = What a bag, pull, station or drinker said before.
dialogs-keeping-notebook-what-came-in-last-and-where = What came in last, and where both sides differed.
dialogs-keeping-notebook-what-was-found-wrong = What was found wrong…
dialogs-keeping-notebook-write-everything-into-another-folder = Write everything into another folder and go on there.

## ui/dialogs/keeping/pass_on

dialogs-keeping-pass-on-choose = Choose…
dialogs-keeping-pass-on-choose-a-bag-first = Choose a bag first
dialogs-keeping-pass-on-from-whom-may-be-left-empty = From whom (may be left empty)
dialogs-keeping-pass-on-into-which-file = Into which file
dialogs-keeping-pass-on-is-there-already-choose-another-name = “{ $target }” is there already; choose another name
dialogs-keeping-pass-on-names-of-people-and-stations = Names of people and stations
dialogs-keeping-pass-on-notes = Notes
dialogs-keeping-pass-on-say-into-which-file = say into which file
dialogs-keeping-pass-on-traces = Traces
dialogs-keeping-pass-on-what-goes-out-without-its-names = What goes out without its names never overwrites yours when an answer comes back.
dialogs-keeping-pass-on-which-bags = Which bags
dialogs-keeping-pass-on-with-what = With what
dialogs-keeping-pass-on-write-1-bag = Write 1 bag
dialogs-keeping-pass-on-write-bags = Write { $n } bags

## ui/dialogs/keeping/tables

dialogs-keeping-tables-choose = Choose…
dialogs-keeping-tables-commas-between-fields-decimal-points = Commas between fields, decimal points, UTF-8. R, Python and spreadsheets read it at once.
dialogs-keeping-tables-every-pull-as-pulls-csv-and = Every pull as pulls.csv (and pulls.xlsx for spreadsheets), every sample of every trace as traces.csv, and columns.txt, which says what each column means and in which unit.
dialogs-keeping-tables-into-which-folder = Into which folder
dialogs-keeping-tables-say-into-which-folder = say into which folder
dialogs-keeping-tables-tables = tables
dialogs-keeping-tables-thirdpull-tables = thirdpull tables
dialogs-keeping-tables-write-the-tables = Write the tables

## ui/dialogs/keeping/take_in

dialogs-keeping-take-in-a-file-that-was-passed-on = A file that was passed on, or a notebook's folder
dialogs-keeping-take-in-changed-on-both-sides = Changed on both sides
dialogs-keeping-take-in-choose-a-file-or-a-folder = choose a file or a folder first
dialogs-keeping-take-in-conflict = conflict
dialogs-keeping-take-in-decline = Decline
dialogs-keeping-take-in-file = File…
dialogs-keeping-take-in-folder = Folder…
dialogs-keeping-take-in-from = From { $from }, { $made }: { $join }
dialogs-keeping-take-in-look-again = Look again
dialogs-keeping-take-in-look-at-it = Look at it
dialogs-keeping-take-in-nothing-was-taken-in = Nothing was taken in
dialogs-keeping-take-in-nothing-was-taken-in-since-the = Nothing was taken in since the window was opened.
dialogs-keeping-take-in-someone-who-left-out-the-name = someone who left out the name
dialogs-keeping-take-in-stands-the-other = Stands: { $kept }. The other: { $other }.
dialogs-keeping-take-in-take-in = Take in
dialogs-keeping-take-in-take-it-in = Take it in
dialogs-keeping-take-in-take-the-other-one = Take the other one
dialogs-keeping-take-in-take-the-other-one-2 = Take the other one: { $name }
dialogs-keeping-take-in-taken-in = Taken in
dialogs-keeping-take-in-the-later-edit-stands-the-other = The later edit stands. The other one is kept as an earlier version.
dialogs-keeping-take-in-the-other-says = { $what_stands }, the other says { $after }
dialogs-keeping-take-in-undo-now-takes-back = Undo now takes back: { $name }.
dialogs-keeping-take-in-you-will-see-what-would-change = You will see what would change before anything does. Of a record that both have, the later edit stands and the other one is kept as an earlier version. Nothing in the file can run or reach outside the notebook.

## ui/dialogs/keeping/versions

dialogs-keeping-versions-earlier-versions-are-kept-from-the = Earlier versions are kept from the first change on.
dialogs-keeping-versions-go-back-to = Go back to { $label }
dialogs-keeping-versions-go-back-to-this = Go back to this
dialogs-keeping-versions-it-has-said-the-same-since = It has said the same since it was made, or since this notebook keeps versions.
dialogs-keeping-versions-newest-first-going-back-would-change = Newest first; going back would change:
dialogs-keeping-versions-no-earlier-version = No earlier version
dialogs-keeping-versions-nothing-yet = Nothing yet
dialogs-keeping-versions-of = Of
dialogs-keeping-versions-of-which-record = Of which record

## ui/dialogs/lists

dialogs-lists-a-drinker-is-whoevers-taste-is = A drinker is whoever's taste is to be met.
dialogs-lists-a-station-is-one-grinder-one = A station is one grinder, one machine and one basket.
dialogs-lists-bags = { $bags ->
    [one] { $bags } bag
   *[other] { $bags } bags
  }
dialogs-lists-change = Change
dialogs-lists-grind-by = grind { $setting }–{ $setting_2 } by { $number }
dialogs-lists-new-drinker = New drinker
dialogs-lists-new-station = New station
dialogs-lists-no-drinker-yet = No drinker yet
dialogs-lists-no-station-yet = No station yet
dialogs-lists-put-away = { $name } (put away)
dialogs-lists-put-away-2 = Put away
dialogs-lists-remove = Remove
dialogs-lists-take-out = Take out

## ui/dialogs/live

dialogs-live-address = Address
dialogs-live-an-instrument-that-prints-numbers-one = An instrument that prints numbers, one reading a line: a header that names each quantity with its unit, then numbers between commas; or one JSON object a line. The pull starts and stops by itself.
dialogs-live-bits-a-second = Bits a second
dialogs-live-enter-as-a-new-pull = Enter as a new pull
dialogs-live-known-ports = Known ports
dialogs-live-listen = Listen
dialogs-live-listening-to = Listening to { $place }
dialogs-live-live = Live
dialogs-live-live-2 = live
dialogs-live-more-wait = { " " }· { $waiting } more wait
dialogs-live-no-serial-port-is-known-to = No serial port is known to the system. One that is plugged in later can be typed.
dialogs-live-path-of-the-growing-file = Path of the growing file
dialogs-live-pull = pull { $number }
dialogs-live-pull-caught-s = Pull caught: { $number } s{ $mass }{ $more }
dialogs-live-save-or-give-up-the-pull = Save or give up the pull that is being entered first
dialogs-live-sensors-on-boilers-mains-wiring-or = Sensors on boilers, mains wiring or pressure parts are for licensed people, under your local code.
dialogs-live-serial-port = Serial port
dialogs-live-start-now = Start now
dialogs-live-stop = Stop
dialogs-live-stop-listening = Stop listening
dialogs-live-throw-away = Throw away
dialogs-live-to-pull = To pull { $number }
dialogs-live-where-it-is = Where it is
dialogs-live-where-the-instrument-is = Where the instrument is

## ui/dialogs/palette

dialogs-palette-action = Action
dialogs-palette-nothing-is-called-so = Nothing is called so. Type fewer letters, or another word.
dialogs-palette-type-a-few-letters = type a few letters

## ui/dialogs/settings

dialogs-settings-advice = Advice
dialogs-settings-as-the-system = as the system
dialogs-settings-backups-versions-sharing = Backups, versions, sharing…
dialogs-settings-bar-large-targets = bar: large targets
dialogs-settings-class-large-type = class: large type
dialogs-settings-dark = dark
dialogs-settings-decimal-mark = Decimal mark
dialogs-settings-every-change-is-on-disk-at = Every change is on disk at once; closing the window loses nothing.
dialogs-settings-from-pull-to-pull = What changes from pull to pull
dialogs-settings-home-one-bag-calm = home: one bag, calm
dialogs-settings-how-the-window-is-used = How the window is used
dialogs-settings-it-lies-in = It lies in { $place }
dialogs-settings-light = light
dialogs-settings-looks = Looks
dialogs-settings-mass = Mass
dialogs-settings-one-lever-only = one lever only
dialogs-settings-one-lever-or-more = one lever, more where clearly better
dialogs-settings-pressure = Pressure
dialogs-settings-temperature = Temperature
dialogs-settings-the-notebook = The notebook
dialogs-settings-theme = Theme
dialogs-settings-units = Units
dialogs-settings-way-of-living = Mode
dialogs-settings-zoom-ctrl-and-ctrl = Zoom  (Ctrl + and Ctrl −)

## ui/dialogs/sheets

dialogs-sheets-a-mark-from-far-too-little-to = A mark from far too little to far too much, then the next row
dialogs-sheets-all-is-well = All is well
dialogs-sheets-every-file-of-the-notebook-was = Every file of the notebook was read.
dialogs-sheets-in-the-marks-save-and-show-the = In the marks: save and show the next pull
dialogs-sheets-next-field-from-the-numbers-to-the = Next field; from the numbers to the marks
dialogs-sheets-on-the-opening = On the opening
dialogs-sheets-on-the-practice-bench = On the practice bench
dialogs-sheets-step-a-number-change-the-row = Step a number, change the row
dialogs-sheets-take-a-mark-back = Take a mark back
dialogs-sheets-the-rest-of-the-notebook-is = The rest of the notebook is open. A file that could not be read is left as it is.
dialogs-sheets-to-a-row-sour-bitter-strength-body = To a row: sour, bitter, strength, body, astringent, sweet
dialogs-sheets-to-liking-to-the-note = To liking, to the note
dialogs-sheets-to-look-at = { $problems } to look at
dialogs-sheets-while-entering-a-pull = While entering a pull

## ui/dialogs/station

dialogs-station-basket-inner-diameter = Basket, inner diameter
dialogs-station-burr-travel-for-one-unit-if = Burr travel for one unit (if known)
dialogs-station-clicks = clicks
dialogs-station-dose-stated-for-it = Dose stated for it
dialogs-station-doses-that-the-basket-takes = Doses that the basket takes
dialogs-station-finer-is-toward = Finer is toward
dialogs-station-first-the-station-your-grinders-own = First the station: your grinder's own scale, so that advice comes in your own clicks.
dialogs-station-grinder-in-your-words = Grinder, in your words
dialogs-station-grounds-retained = Grounds retained
dialogs-station-higher-numbers = higher numbers
dialogs-station-lower-numbers = lower numbers
dialogs-station-m = µm
dialogs-station-machine-in-your-words = Machine, in your words
dialogs-station-name-of-the-station = Name of the station
dialogs-station-note = Note
dialogs-station-pump-pressure-if-known = Pump pressure (if known)
dialogs-station-save-the-station = Save the station
dialogs-station-stepless = stepless
dialogs-station-strength-can-be-measured = Strength can be measured
dialogs-station-temperature-can-be-set = Temperature can be set
dialogs-station-the-dial = The dial
dialogs-station-the-grinders-own-scale = The grinder's own scale
dialogs-station-the-machine = The machine
dialogs-station-window-bar = window bar
dialogs-station-yields-that-make-sense = Yields that make sense

## ui/keeping

keeping-a-backup-was-made = A backup was made
keeping-it-is-handed-over-as-soon = { " " }It is handed over as soon as that is closed.
keeping-only-when-nobody-has-it-open = Only when nobody has it open there any more.
keeping-reading-only-nothing-can-be-changed = Reading only: { $why }. Nothing can be changed here.{ $wait }
keeping-tables-written-into = Tables written into { $folder }
keeping-take-it-over = Take it over
keeping-the-notebook-now-lies-in = The notebook now lies in { $folder }
keeping-unpacked-into = Unpacked into { $folder }
keeping-written-to = Written to { $file } ({ $size })

## ui/opening

opening-all-stations = All stations
opening-back-to-the-bags = Back to the bags
opening-back-to-the-bags-f4 = Back to the bags  F4
opening-charts = Charts
opening-coffees = Coffees
opening-day = Day
opening-hand-over = Hand-over
opening-keys-another-coffee = Another coffee, until its time is begun
opening-keys-from-the-time-to-the-cup = From the time to the cup; in the cup: save
opening-keys-save-wherever-you-are = Save, wherever you are
opening-keys-stop-the-clock-give-up = Stop the clock, give up what is typed, go back
opening-keys-the-clock = Start the clock; take the cup away
opening-keys-to-the-time = To the time
opening-list = List
opening-list-of = List { $done } of { $all }
opening-looking-at-the-bar = Looking at the bar…
opening-nothing-to-hold-yet = Nothing to hold yet
opening-nothing-to-redo = Nothing to redo
opening-nothing-to-undo = Nothing to undo
opening-opening-2 = Opening
opening-opening-3 = Opening: { $headline }
opening-other-bars = Other bars
opening-part-of-the-opening = Part of the opening
opening-redo = Redo: { $name }
opening-station-shown = Station shown
opening-that-belongs-to-a-bags-page = That belongs to a bag's page; F4 goes back to it
opening-the-opening-could-not-be-worked = The opening could not be worked out: { $fault }
opening-undo = Undo: { $name }
opening-working-out-how-readily-to-act = { " " }· working out how readily to act…

## ui/opening/bar

opening-bar-bar-card = Bar card
opening-bar-change-the-window = Change the window
opening-bar-grinder = { $station_name } · grinder { $setting }
opening-bar-grinder-alone = grinder { $setting }
opening-bar-hold-it-to-the-keeper-of = Hold it to the keeper of { $from }
opening-bar-no-pull-yet = No pull yet.
opening-bar-no-pull-yet-2 = no pull yet
opening-bar-opened = Opened: { $start }
opening-bar-station-ready = { $ready } of { $all } ready
opening-bar-to-its-page = To its page
opening-bar-today = Today
opening-bar-why = { $name }: why
opening-bar-window = Window: { $window } ({ $window_why })
opening-bar-without-a-keeper = Without a keeper

## ui/opening/bars

opening-bars-add = Add
opening-bars-folder-of-a-notebook = folder of a notebook
opening-bars-folder-of-another-bars-notebook = Folder of another bar's notebook
opening-bars-look-again = Look again
opening-bars-looking = Looking…
opening-bars-no-pull-yet = no pull yet
opening-bars-of-its-files-could-not-be = { $problems } of its files could not be read
opening-bars-take-off = Take { $name_of } off
opening-bars-the-notebooks-of-other-shops-beside = The notebooks of other shops beside this one: a shared folder each. They are read as they stand; nothing in them is locked or written.

## ui/opening/charts

opening-charts-a-diamond-marks = A diamond: outside a limit, or a rule fired.
opening-charts-all = All { $n }
opening-charts-charts-stand-here-once-a-coffee = Charts stand here once a coffee has a keeper.
opening-charts-coffee-charted = Coffee charted
opening-charts-control-charts-moving-range-weighted = Control charts. { $summary }. Moving range, weighted average and cumulative sums below.
opening-charts-cumulative-sums-sd-up-and-thinner = Cumulative sums, sd: up, and thinner down
opening-charts-each-charts-limits-one-false-alarm = Each chart's limits: one false alarm in { $run_length } pulls on average; the run rules: one in { $rules }; all marks together: about one in { $all }. The verdict: { $readiness }.
opening-charts-false-adjustments-a-month = False adjustments a month
opening-charts-fewer-than-twenty-points-the-limits = Fewer than twenty points: the limits are provisional.
opening-charts-marked = Marked: { $words }
opening-charts-marked-pulls = Marked pulls
opening-charts-more = { $n ->
    [one] and { $n } earlier: point at it
   *[other] and { $n } earlier: point at one
  }
opening-charts-moving-range-sd = Moving range, sd
opening-charts-none = None.
opening-charts-phases = Phases
opening-charts-pulls-shown = Pulls shown
opening-charts-quantity = Quantity
opening-charts-single-pulls = { $name }, { $unit }: single pulls
opening-charts-three-pulls-of-the-kept-recipe = Three pulls of the kept recipe make a chart.
opening-charts-weighted-average-sd = Weighted average, sd
opening-charts-with-dose-cup-warmth-and-ageing = { $measured } { $unit }; { $value } with dose, cup, warmth and ageing taken out, { $z } sd from the middle

## ui/opening/day

opening-day-and-more = and { $pulls } more
opening-day-coffee-sunk-and-purged-today = Coffee sunk and purged today
opening-day-from-timed-pulls-of-four-weeks = From { $pulls } timed pulls of four weeks; dose, cup, warmth and the recipe's moves are taken out. Ranges hold 95 times in 100.
opening-day-hide-names = Hide names
opening-day-no-grinder-is-warm-enough-from = No grinder is warm enough from a rush to count, and no bag was changed today.
opening-day-nobody-has-written-down-the-room = Nobody has written down the room yet; the list has a place for it.
opening-day-nobody-named = nobody named
opening-day-pulled-today = Pulled today
opening-day-through-the-day = Through the day
opening-day-where-the-spread-comes-from = Where the spread comes from
opening-day-working-it-out = Working it out…

## ui/opening/entry

opening-entry-choked = Choked
opening-entry-cup-away = Cup away
opening-entry-no-pull-can-be-recorded = No pull can be recorded: { $why }
opening-entry-not-saved-yet = Not saved yet: { $text }
opening-entry-old-beans-in-the-hopper = Old beans in the hopper
opening-entry-pulled-by = Pulled by
opening-entry-save-the-pull = Save the pull
opening-entry-sink = Sink
opening-entry-spurting = Spurting
opening-entry-start-the-clock = Start the clock
opening-entry-stop-record-nothing = Stop, record nothing
opening-entry-the-clock-was-stopped-nothing-was = The clock was stopped; nothing was recorded
opening-entry-the-pull-was-not-recorded = The pull was not recorded

## ui/opening/hand_over

opening-hand-over-coffee = Coffee
opening-hand-over-grinder = grinder { $setting } · { $recipe } · { $window }
opening-hand-over-hand-over = Hand-over
opening-hand-over-last = { " " }· last { $time } { $when }{ $who }
opening-hand-over-name-a-file-that-ends-in = name a file that ends in .pdf, .png or .svg
opening-hand-over-nobody-yet = nobody yet
opening-hand-over-notes-of-today = Notes of today
opening-hand-over-one-a4-page-with-a-place = One A4 page with a place to sign. Print the PDF from any viewer.
opening-hand-over-or-its-path-pdf-png-svg = or its path: .pdf .png .svg
opening-hand-over-page = Page
opening-hand-over-pulled-today = Pulled today
opening-hand-over-room = Room
opening-hand-over-save-as = Save as…
opening-hand-over-waiting = Waiting

## ui/opening/list

opening-list-all-done = All done.
opening-list-humidity = Humidity
opening-list-room = Room
opening-list-steps-tick-themselves = Steps that today's pulls show as done tick themselves; a click takes such a tick away.
opening-list-the-bar = The bar
opening-list-the-list-is-made-from-coffees = The list is made from coffees with a keeper; there is none yet.
opening-list-the-whole-list-costs-about = The whole list costs about { $list_cost }.
opening-list-what-you-type-here-is-noted = What you type here is noted with the next pull, so that tomorrow knows how the room has changed.

## ui/opening/window

opening-window-back-to-the-models-window = Back to the model's window
opening-window-for-example-the-queue-is-long = for example: the queue is long
opening-window-from = from
opening-window-from-2 = From
opening-window-now-from = Now from: { $why }.
opening-window-save = Save
opening-window-say-why-so-that-the-next = say why, so that the next shift knows
opening-window-target = target
opening-window-target-2 = Target
opening-window-the-reason-is-kept-in-the = The reason is kept in the bag's note.
opening-window-the-target-must-lie-between-the = the target must lie between the two ends
opening-window-to = To
opening-window-why = Why
opening-window-window-of = Window of { $name }

## ui/page

page-a-bags-page-holds-its-pulls = A bag's page holds its pulls, their traces, and what to change next.
page-begin-an-empty-notebook-of-my = Begin an empty notebook of my own
page-change-the-bag-f2 = Change the bag  F2
page-demo-notebook-all-invented = Demo notebook, all invented.
page-demo-notebook-invented-coffees-and = Demo notebook: invented coffees and people. Try anything.
page-finished = Finished · { $line }
page-found-wrong-p = Found wrong: { $n }  P
page-new-bag = New bag
page-no-bag-on-the-shelf-yet = No bag on the shelf yet
page-nothing-to-redo = Nothing to redo
page-nothing-to-undo = Nothing to undo
page-nothing-was-found-wrong = Nothing was found wrong
page-opening = Opening
page-redo = Redo: { $name }
page-settings = Settings
page-undo = Undo: { $name }

## ui/page/entry

page-entry-astringency = Astringency
page-entry-bitterness = Bitterness
page-entry-body = Body
page-entry-by = By
page-entry-change-pull = Change pull { $number }
page-entry-choked = Choked
page-entry-first-drip = First drip
page-entry-give-up = Give up
page-entry-in-the-marks-1-5-or = In the marks: 1–5 or + −, a first letter jumps, Enter saves. { $key } saves wherever you are.
page-entry-liking-1-dislike-extremely-9-like = Liking: 1 dislike extremely, 9 like extremely
page-entry-not-saved-yet = Not saved yet: { $text }
page-entry-note = Note
page-entry-pull-what-came-out-and-how = Pull { $number }: what came out, and how it tasted
page-entry-pulled-by = Pulled by
page-entry-save-show-the-next-pull = Save, show the next pull
page-entry-save-the-change = Save the change
page-entry-sink = Sink
page-entry-sourness = Sourness
page-entry-spurting = Spurting
page-entry-sweetness = Sweetness

## ui/page/hero

page-hero-another-idea = Another idea
page-hero-at-odds = at odds
page-hero-believes = believes
page-hero-cover = Cover
page-hero-cup-away = Cup away
page-hero-enter-by-hand = Enter by hand
page-hero-expect = Expect
page-hero-first-drip = First drip
page-hero-first-reason = First reason
page-hero-guard = guard
page-hero-hide-the-reasons = Hide the reasons
page-hero-its-pulls-stay-in-the-ledger = Its pulls stay in the ledger. Is something left in it after all? Take it back to the shelf.
page-hero-less = Less
page-hero-mark-it-used-up = Mark it used up
page-hero-model = model
page-hero-next-idea = Next idea
page-hero-next-pull = Next pull
page-hero-next-reason-of = Next reason, { $n } of { $all }
page-hero-no-advice = No advice: { $fault }
page-hero-pull-it = Pull it
page-hero-pull-our-choice = Pull our choice
page-hero-reveal = Reveal
page-hero-space-at-the-first-drip = Space at the first drip
page-hero-space-pump-on = Space: pump on
page-hero-space-when-you-take-the-cup = Space when you take the cup away
page-hero-stop-record-nothing = Stop, record nothing
page-hero-take-it-back = Take it back
page-hero-taste-look-at-the-strips-decide = Taste, look at the strips, decide; then reveal.
page-hero-taste-map = Taste map
page-hero-this-bag-is-used-up = This bag is used up
page-hero-tomorrow = tomorrow
page-hero-too-little-is-left = Too little is left for a pull: mark the bag used up ({ $used_up }) or correct its mass ({ $change }).
page-hero-trade = trade
page-hero-what-if = What if
page-hero-what-would-you-change = What would you change?
page-hero-why = Why:
page-hero-why-2 = Why
page-hero-working-it-out = Working it out…

## ui/page/ledger

page-ledger-all-pulls = all pulls
page-ledger-best-liked-first = best liked first
page-ledger-change = Change
page-ledger-click-again-to-change-it = Click again to change it
page-ledger-dose = dose { $unit }
page-ledger-fastest-first = fastest first
page-ledger-finest-first = finest first
page-ledger-grind = grind
page-ledger-in-which-order = In which order
page-ledger-ledger = Ledger
page-ledger-like = like
page-ledger-newest-first = newest first
page-ledger-no-pull-fits-what-is-shown = No pull fits what is shown. Choose “all pulls”.
page-ledger-no-pull-yet = No pull yet
page-ledger-pull-once-the-ledger-keeps-what = Pull once; the ledger keeps what you did and what came of it.
page-ledger-str = str %
page-ledger-taste = taste
page-ledger-tasted = tasted
page-ledger-time-s = time s
page-ledger-trace = trace
page-ledger-which-pulls = Which pulls
page-ledger-with-a-trace = with a trace
page-ledger-without-mishaps = without mishaps
page-ledger-yield = yield { $unit }

## ui/page/strips

page-strips-a-pulls-trace-shows-here-laid = A pull's trace shows here, laid over the ones before it.
page-strips-all = All
page-strips-all-pulls-of-this-bag-over = All pulls of this bag over each other  G
page-strips-any-pulls-of-any-bags-m = Any pulls of any bags  M
page-strips-at-s = At { $number } s: { $join }
page-strips-at-s-2 = at { $number } s
page-strips-attach-a-trace-file = Attach a trace file
page-strips-attach-to = Attach to { $number_of }
page-strips-band = Band
page-strips-closer-pgup = Closer  PgUp
page-strips-compare = Compare
page-strips-drop-a-file-on-the-window = Drop a file on the window, choose one, or press I to listen to a live instrument.
page-strips-expected = expected
page-strips-fewer = Fewer
page-strips-from-first-drip = From first drip
page-strips-from-pump-on = From pump on
page-strips-keeper = { $number } keeper
page-strips-listen-to-a-live-instrument-i = Listen to a live instrument  I
page-strips-live = Live
page-strips-no-trace = No trace
page-strips-point-at-a-strip = point at a strip
page-strips-pull = pull { $number }
page-strips-shows-or-hides-the-trace-to = Shows or hides the expected trace of the next pull  X
page-strips-strips = Strips
page-strips-wider-pgdn = Wider  PgDn

## ui/practice

practice-about-what-is-simulated = { $label } about what is simulated
practice-all-as-at-the-beginning = All as at the beginning
practice-and-more-thirdpull-check-lists-them = { " " }(and { $n } more: thirdpull check lists them)
practice-back-to-the-bag-esc = Back to the bag  Esc
practice-bench = Bench
practice-exercises = Exercises
practice-exercises-and-studies-uncover-one-thing-more = Exercises and studies: uncover one thing more
practice-exercises-sit-down-or-pull-the-next = Exercises: sit down or pull; the next hint
practice-hold-this-as-before-or-let-it = Hold this as “before”, or let it go
practice-in-the-notebooks-practice-files = In the notebook’s practice files: { $first }{ $more }
practice-inside-the-puck = Inside the puck
practice-lay-the-real-pull-beside-or-take = Lay the real pull beside, or take it away
practice-less = Less
practice-make-the-bench-behave-like-this-bag = Make the bench behave like this bag
practice-more = More
practice-move-the-point-handle-or-cursor-that = Move the point, handle or cursor that has the focus; Ins and Del add and remove a point
practice-on-the-bench = On the bench: { $name }
practice-part-of-the-bench = Part of the bench
practice-play-the-pull-inside-the-puck-or = Play the pull inside the puck, or pause
practice-practice-bench = Practice bench
practice-redo-the-move = Redo the move
practice-stop-the-fit-else-back-to-the = Stop the fit; else back to the bag
practice-studies = Studies
practice-sweeps = Sweeps
practice-the-bench-inside-the-puck-sweeps-studies = The bench, inside the puck, sweeps, studies, exercises
practice-the-next-drive-by-description = The next drive by description
practice-undo-the-last-move = Undo the last move

## ui/practice/bench

practice-bench-a-real-pull-beside = A real pull beside
practice-bench-add-a-point-ins = Add a point  Ins
practice-bench-as-the-machine = As the machine
practice-bench-beside = Beside: { $name }
practice-bench-coffee = Coffee
practice-bench-compare-everything-with-how-it-stands = Compare everything with how it stands now  K
practice-bench-draw-in-few-points = Draw in few points
practice-bench-draw-it = Draw it
practice-bench-drawn-by-hand = Drawn by hand
practice-bench-drawn-over-time = Drawn over time
practice-bench-drive = Drive
practice-bench-fitting-done = Fitting, { $part } % done
practice-bench-hold-before = Hold “before”
practice-bench-its-recipe-and-its-pressure-the-coffee-stays = The recipe, pressure and temperature of the pull beside; coffee and grinder stay as they are on the bench
practice-bench-make-the-bench-behave-like-this = Make the bench behave like this bag
practice-bench-ml-s = mL/s
practice-bench-no-pull-of-this-bag-has = No pull of this bag has a trace; attach one on the bag's page
practice-bench-nothing-limits-the-flow-but-the = Nothing limits the flow but the pressure.
practice-bench-open-a-bag-whose-pulls-have = Open a bag whose pulls have traces to lay a real one beside.
practice-bench-open-a-bag-with-a-pull = Open a bag with a pull that has a trace
practice-bench-point = Point { $at }
practice-bench-pull-it-as-the-real-one = Pull it as the real one
practice-bench-remove-the-point-del = Remove the point  Del
practice-bench-slider = { $name } slider
practice-bench-start-again = Start again
practice-bench-stop = Stop
practice-bench-that-pulls-trace-could-not-be = That pull's trace could not be read
practice-bench-the-pull-looked-at-in-the = The pull looked at in the open bag  L
practice-bench-time = time
practice-bench-value = value

## ui/practice/class

practice-class-answers = Answers
practice-class-answers-html = { $name } answers.html
practice-class-class-list = Class list
practice-class-everybody-with-the-same-word-meets = Everybody with the same word meets the same coffee
practice-class-everyone-is-done = everyone is done
practice-class-html = { $name }.html
practice-class-looking-for-the-best-cup-that = Looking for the best cup that could be reached
practice-class-names-of-the-class = Names of the class
practice-class-next-student = Next student
practice-class-one-name-a-line = one name a line
practice-class-or-type-its-path = or type its path: { $proposed }
practice-class-results = Results
practice-class-results-of-this-exercise = Results of this exercise
practice-class-save-as = Save as…
practice-class-sit-down = Sit down
practice-class-there-is-no-result-yet = there is no result yet
practice-class-uncover = Uncover: { $to_lowercase }
practice-class-who-sits-here = Who sits here
practice-class-word = Word
practice-class-word-on-the-board = word on the board
practice-class-word-on-the-board-2 = Word on the board
practice-class-worksheet = Worksheet
practice-class-write-to-a-file = Write to a file:
practice-class-write-to-a-file-2 = Write to a file
practice-class-your-name = your name

## ui/practice/exercises

practice-exercises-hint-left = Hint, { $left } left
practice-exercises-last-pull = last pull
practice-exercises-leave-the-seat = Leave the seat
practice-exercises-next-dose = Next dose
practice-exercises-next-drink = Next drink
practice-exercises-next-grind = Next grind
practice-exercises-next-water = Next water
practice-exercises-no-hint-is-left = no hint is left
practice-exercises-nothing-pulled-yet-when-you-are = Nothing pulled yet. When you are content, serve the best of your pulls.
practice-exercises-pull-left = Pull, { $left } left
practice-exercises-serve-it = Serve it
practice-exercises-serve-pull = Serve pull { $at }
practice-exercises-the-one-before = the one before

## ui/practice/inside

practice-inside-colours-show = Colours show
practice-inside-earlier = Earlier  ←
practice-inside-grains = Grains
practice-inside-inside-the-puck = Inside the puck. { $told }
practice-inside-later = Later  →
practice-inside-pause = Pause
practice-inside-play = Play
practice-inside-speed-of-the-water-path-by = speed of the water, path by path (area to scale)
practice-inside-water = Water

## ui/practice/strips

practice-strips-at-s = at { $number } s
practice-strips-before = before
practice-strips-now = now
practice-strips-point-at-a-strip = point at a strip
practice-strips-strips = Strips

## ui/practice/sweeps

practice-sweeps-age = Age
practice-sweeps-all-else-as-the-bench-stands = { $handle }, all else as the bench stands; the ring is where it stands now.{ $lost }
practice-sweeps-ask-the-class = Ask the class
practice-sweeps-nothing-published-is-at-hand-for = Nothing published is at hand for this.
practice-sweeps-pressure = Pressure
practice-sweeps-pulling = Pulling…
practice-sweeps-pulling-sixty-times = Pulling sixty times…
practice-sweeps-put-its-coffee-and-recipe-on = Put its coffee and recipe on the bench
practice-sweeps-roast = Roast
practice-sweeps-uncover = Uncover: { $to_lowercase }
practice-sweeps-unevenness = Preparation
practice-sweeps-what-has-been-measured = What has been measured
practice-sweeps-what-moves = What moves
practice-sweeps-what-nobody-knows = What nobody knows
practice-sweeps-what-the-model-says = What the model says

## ui/put_away

put-away-nothing-can-be-changed-here = Nothing can be changed here: { $why }
put-away-put-away-not-saved = Put away, not saved: { $title }
put-away-the-pull-stays-as-it-was = The pull stays as it was
put-away-the-pull-was-not-recorded = The pull was not recorded
put-away-there-is-nothing-to-bring-back = There is nothing to bring back

## ui/shelf

shelf-drinkers = Drinkers
shelf-folded = folded
shelf-keys = Keys
shelf-new-bag = New bag
shelf-no-bag-has-that-in-its = No bag has that in its name.
shelf-no-bag-yet = No bag yet.
shelf-notebook = Notebook
shelf-open = open
shelf-opening = Opening
shelf-practice-bench = Practice bench
shelf-search = Search  /
shelf-search-the-shelf = Search the shelf
shelf-settings = Settings
shelf-stations = Stations

## ui/start

start-a-system-library = a system library
start-the-window-could-not-be-opened = the window could not be opened: { $short }
start-the-window-needs-opengl-2-0 = the window needs OpenGL 2.0 or later, and this system offers none; install a driver (software rendering is enough, for example the packages libgl1 and libgl1-mesa-dri)
start-the-window-needs-which-is-not = the window needs { $library }, which is not installed; install it and start again
start-there-is-no-screen-to-open = there is no screen to open a window on (neither DISPLAY nor WAYLAND_DISPLAY leads to one); start it from a desktop session, or use a command: thirdpull --help
start-unknown-reason = unknown reason

## ui/toasts

toasts-bring-it-back = Bring it back
toasts-it-is-still-refused-nothing-is = It is still refused; nothing is lost
toasts-not-on-disk-yet = Not on disk yet: { $name }
toasts-save-elsewhere = Save elsewhere…
toasts-saved = Saved: { $name }
toasts-saved-2 = Saved
toasts-show = Show
toasts-try-again = Try again
toasts-undo = Undo

## ui/widgets/clock_face

widgets-clock-face-clock-seconds = Clock, { $seconds } seconds, { $phase }
widgets-clock-face-cup-away = cup away
widgets-clock-face-cup-away-2 = Cup away
widgets-clock-face-dripping = dripping
widgets-clock-face-dripping-2 = Dripping
widgets-clock-face-first-drip = first drip
widgets-clock-face-pump-on = Pump on
widgets-clock-face-pump-on-waiting-for-the-first = pump on, waiting for the first drip
widgets-clock-face-ready = ready
widgets-clock-face-ready-2 = Ready

## ui/widgets/crowd

widgets-crowd-crowd = crowd

## ui/widgets/curve

widgets-curve-against = { $title } against { $across_name }. { $says } { $source }.

## ui/widgets/drive

widgets-drive-nothing-limits-it = nothing limits it
widgets-drive-over-time = { $name } over time: { $line }
widgets-drive-point-of = { $name } point { $at } of { $points }: { $said }

## ui/widgets/hero

widgets-hero-from = from { $from }{ " " }
widgets-hero-to = { $what } { $from }to { $to }, { $words }

## ui/widgets/liking_row

widgets-liking-row-dislike-extremely = dislike extremely
widgets-liking-row-dislike-moderately = dislike moderately
widgets-liking-row-dislike-slightly = dislike slightly
widgets-liking-row-dislike-very-much = dislike very much
widgets-liking-row-like-extremely = like extremely
widgets-liking-row-like-moderately = like moderately
widgets-liking-row-like-slightly = like slightly
widgets-liking-row-like-very-much = like very much
widgets-liking-row-liking = Liking
widgets-liking-row-liking-2 = Liking { $step }: { $word }
widgets-liking-row-neither-like-nor-dislike = neither like nor dislike
widgets-liking-row-not-said = not said

## ui/widgets/mark_row

widgets-mark-row-1-too-little = 1 too little
widgets-mark-row-3-right = 3 right
widgets-mark-row-no-mark = no mark
widgets-mark-row-too-much-5 = too much 5

## ui/widgets/notice

widgets-notice-save-once-more = { $text } Save once more to keep it as it is.

## ui/widgets/number_field

widgets-number-field-less = less
widgets-number-field-more = more

## ui/widgets/strips

widgets-strips-in = { $name } in { $unit }, { $count } { $count ->
    [one] pull
   *[other] pulls
  }{ $part }{ $join }
widgets-strips-strips = Strips. { $summary }
widgets-strips-up-to = { $name } up to { $peak }

## ui/widgets/taste_map

widgets-taste-map-best = best
widgets-taste-map-next = next

## workbench/bench

work-bench-not-saved-yet = Not saved yet: { $sentence }
work-bench-the-disk-refused = the disk refused

## workbench/desk

work-desk-no-worker-thread-could-be-started = no worker thread could be started
work-desk-the-calculation-failed-the-notebook-is = the calculation failed; the notebook is not affected

## workbench/draft

work-draft-largest = Largest { $what }
work-draft-smallest = Smallest { $what }
work-draft-step = Step { $what }

## workbench/draft/bag

work-draft-bag-choose-for-whom-it-is-dialled = choose for whom it is dialled in
work-draft-bag-choose-the-station-on-which-it = choose the station on which it is pulled
work-draft-bag-give-the-bag-a-name-as = give the bag a name, as it stands on the bag
work-draft-bag-give-the-beginning-of-the-window = give the beginning of the window too, or clear its end
work-draft-bag-give-the-end-of-the-window = give the end of the window too, or clear its beginning
work-draft-bag-it-cannot-have-been-opened-before = it cannot have been opened before it was roasted
work-draft-bag-lies-in-the-future-check-the = { $date } lies in the future; check the roast date
work-draft-bag-the-price-must-be-between-0 = the price must be between 0 and 1 000 000
work-draft-bag-the-window-must-end-after-it = the window must end after it begins
work-draft-bag-this-grinders-scale-runs-from-to = this grinder's scale runs from { $number } to { $number_2 }
work-draft-bag-write-the-date = write the date as 2026-11-25 or with the month by its name, 25 Nov

## workbench/draft/pull

work-draft-pull-that-would-be-extraction-more-than = that would be { $number } % extraction, more than coffee holds; check strength, yield and dose
work-draft-pull-the-first-drip-cannot-come-after = the first drip cannot come after the cup was taken away
work-draft-pull-the-time-must-be-above = the time must be above 0 s; leave it empty if it was not taken
work-draft-pull-this-grinders-scale-runs-from-to = this grinder's scale runs from { $number } to { $number_2 }; correct the number, or the station

## workbench/draft/station

work-draft-station-give-the-baskets-inner-diameter-for = give the basket's inner diameter, for example 58
work-draft-station-give-the-drinker-a-name = give the drinker a name
work-draft-station-give-the-station-a-name-for = give the station a name, for example “window bar”
work-draft-station-grind = grind
work-draft-station-must-be-at-most-g = must be at most { $most }
work-draft-station-must-be-between-and = must be between { $min } and { $max }
work-draft-station-step-must-fit = { $label }: the step must fit at least once between { $min } and { $max }

## workbench/draft/temperature

work-draft-temperature-far = { $value } is far from what can be set here, { $range }: correct it, or the station's own range
work-draft-temperature-other-scale = { $typed } is { $understood }; did you mean { $meant }?

## workbench/edit

work-edit-bags-need-it = { $used ->
    [one] one bag needs it
   *[other] { $used } bags need it
  }
work-edit-cannot-be-removed-put-it-away = { $what } cannot be removed: { $bags }. Put it away instead
work-edit-change = change
work-edit-change-to = change to
work-edit-change-to-bag = change to bag { $name }
work-edit-dose = dose
work-edit-drinker = { $verb } drinker { $name }
work-edit-earlier-preferences = earlier preferences
work-edit-earlier-version-of-a-pull = earlier version of a pull
work-edit-earlier-version-of-bag = earlier version of bag { $name }
work-edit-earlier-version-of-drinker = earlier version of drinker { $name }
work-edit-earlier-version-of-pull = earlier version of pull { $number }
work-edit-earlier-version-of-station = earlier version of station { $name }
work-edit-finishing = finishing { $name }
work-edit-flags = flags
work-edit-going-back-to = going back to { $name }
work-edit-grind = grind
work-edit-keeper-of = keeper of { $name }
work-edit-letting-go-the-keeper-of = letting go the keeper of { $name }
work-edit-new = new
work-edit-new-bag = new bag { $name }
work-edit-note = note
work-edit-of-pull = { $pull_difference } of pull { $number_of }
work-edit-preferences = preferences
work-edit-pull = pull { $count }
work-edit-putting-away = putting away
work-edit-refused-busy = one moment: { $work } is not done yet; nothing was changed
work-edit-refused-missing = that record is no longer in the notebook; nothing was changed
work-edit-refused-no-name = give it a name first
work-edit-refused-nothing-to-redo = there is nothing to redo
work-edit-refused-nothing-to-undo = there is nothing to undo
work-edit-refused-read-only = this notebook is open for reading only ({ $why }); nothing was changed
work-edit-removing = removing { $name }
work-edit-removing-bag = removing bag { $name }
work-edit-removing-pull = removing pull { $number }
work-edit-reopening = reopening { $name }
work-edit-station = { $verb } station { $name }
work-edit-strength = strength
work-edit-taking-out = taking out
work-edit-taste = taste
work-edit-temperature = temperature
work-edit-time = time
work-edit-trace-of-pull = trace of pull { $number_of }
work-edit-yield = yield

## workbench/keeping

work-keeping-a-conflict-copy-that-file-sync = A conflict copy that file sync left was merged. { $records } had been changed on both sides: the later edit stands, the other is kept.
work-keeping-backup = backup
work-keeping-changed-from-outside-file-sync-another = { $records } changed from outside (file sync, another program, or by hand)
work-keeping-changes-from-outside = changes from outside
work-keeping-close-the-window-and-open-it = { $sentence }; close the window and open it again
work-keeping-failed-within-look-at-the-notebook = { $name } failed within; look at the notebook again
work-keeping-going-back-to-the-backup = going back to the backup
work-keeping-it-could-not-be-taken-over = It could not be taken over: { $why }
work-keeping-left-out = Left out: { $problems }
work-keeping-making-the-backup = making the backup
work-keeping-merging = merging
work-keeping-reading-the-other-notebook = reading the other notebook
work-keeping-reading-the-packet = reading the packet
work-keeping-records = { $n ->
    [one] 1 record
   *[other] { $n } records
  }
work-keeping-records-begin = { $n ->
    [one] One record
   *[other] { $n } records
  }
work-keeping-taking-the-packet = taking the packet
work-keeping-the-days-backup-could-not-be = The day's backup could not be made: { $sentence }. The notebook itself is safe; it is tried again.
work-keeping-the-merge = the merge
work-keeping-the-notebook-is-yours-to-write = The notebook is yours to write in now
work-keeping-the-notebooks-folder-can-no-longer = The notebook's folder can no longer be written: { $why }. Edits are kept here.
work-keeping-the-notebooks-folder-is-no-longer = The notebook's folder is no longer there (drive taken out, network gone, folder moved?). Nothing is lost: edits are kept here and written as soon as it is back.
work-keeping-this-notebook-lies-in-no-folder = this notebook lies in no folder
work-keeping-unpacking-the-backup = unpacking the backup
work-keeping-what-was-taken-in = what was taken in
work-keeping-writing-the-notebook-elsewhere = writing the notebook elsewhere
work-keeping-writing-the-packet = writing the packet
work-keeping-writing-the-tables = writing the tables

## workbench/practice

work-practice-as = as { $name }
work-practice-correct-the-pull-on-the-bags = { $fault }. Correct the pull on the bag's page, then try again. The bench is as it was.
work-practice-fitting-the-bench = Fitting the bench
work-practice-stopped-the-bench-is-as-it = Stopped; the bench is as it was.
work-practice-the-simulated-cup-stays-g-off = The simulated cup stays { $rms } off the recorded { $last } in the mean. Choose a pull without a channel, and see that its trace begins at pump on. The bench is as it was.
work-practice-this-trace-has-no-cup-mass = This trace has no cup mass, so there is nothing to fit to. Choose a pull with a scale under the cup. The bench is as it was.
work-practice-this-trace-has-samples-with-more = This trace has { $n } samples with more than a gram in the cup; 8 are needed. Choose another pull. The bench is as it was.

## workbench/practice/classroom

work-practice-classroom-nobody-sits-there-yet = nobody sits there yet
work-practice-classroom-scoring = Scoring
work-practice-classroom-the-engine-at-an-exercise = The engine at an exercise
work-practice-classroom-the-engine-was-stopped = the engine was stopped

## workbench/practice/drawing

work-practice-drawing-flow = Flow
work-practice-drawing-pressure = Pressure
work-practice-drawing-temperature = Temperature

## workbench/practice/own

work-practice-own-a-practice-file-is-a-page = A practice file is a page of text
work-practice-own-could-not-be-read = could not be read: { $fault }
work-practice-own-save-it-as-plain-text-utf = Save it as plain text (UTF-8)

## workbench/practice/seat

work-practice-seat-the-exercise-names-something-that-is = the exercise names something that is not there
work-practice-seat-there-is-no-exercise = there is no exercise “{ $name }”

## workbench/session

work-session-this-system-names-no-data-folder = this system names no data folder; say where the notebook is with --notebook DIR

## workbench/tables

work-tables-is-there-already-choose-another-folder = “{ $join }” is there already; choose another folder

## workbench/task

work-task-it-failed-within-the-notebook-is = it failed within; the notebook is not affected
work-task-no-thread-could-be-started-close = no thread could be started; close something else

## workbench/view/advice

view-advice-a-first-guess = a first guess
view-advice-another-idea-of = Another idea · { $at } of { $alternatives }
view-advice-chance-of-the-best-recipe-known = Chance that the best recipe known so far is within half a liking point of the best that this gear can reach
view-advice-chance-of-this-idea = Chance that this recipe is within half a liking point of the best that this gear can reach
view-advice-clicks = { $number } clicks
view-advice-coarser = coarser
view-advice-cooler = cooler
view-advice-count-clicks = { $n ->
    [one] { $n } click
   *[other] { $n } clicks
  }
view-advice-dose = dose { $value }
view-advice-eighth = eighth
view-advice-fairly-sure = fairly sure
view-advice-fifth = fifth
view-advice-finer = finer
view-advice-first = first
view-advice-fourth = fourth
view-advice-go-back-to-this-recipe = Go back to this recipe
view-advice-grind = grind { $setting }
view-advice-half-sure = half sure
view-advice-hotter = hotter
view-advice-house-window = house window { $range }
view-advice-in-10 = { $words }, { $tenths } in 10
view-advice-keep-this-recipe = Keep this recipe
view-advice-less = less
view-advice-liking = liking
view-advice-mark = mark
view-advice-marks = marks
view-advice-more = more
view-advice-more-than-9-in-10 = { $words }, more than 9 in 10
view-advice-next-pull = Next pull · { $number }
view-advice-ninth = ninth
view-advice-not-known-how-sure = not known how sure
view-advice-not-sure-yet = not sure yet
view-advice-number = number { $pulls }
view-advice-pull-it-as-planned = Pull it as planned
view-advice-pull-the-same-again = Pull the same again
view-advice-second = second
view-advice-seventh = seventh
view-advice-sixth = sixth
view-advice-stays = { $n ->
    [one] { $line } stays as it is
   *[other] { $line } stay as they are
  }
view-advice-strength = strength
view-advice-sure = sure
view-advice-third = third
view-advice-time = time
view-advice-to-begin-with = to begin with
view-advice-yield = yield { $value }

## workbench/view/bar_card

view-bar-card-after-a-choke = After a choke. { $after_a_choke }
view-bar-card-after-a-move-purge = { " " }After a move purge { $value }.
view-bar-card-click = click
view-bar-card-coarser = coarser
view-bar-card-count-pulls = { $n ->
    [one] { $n } pull
   *[other] { $n } pulls
  }
view-bar-card-finer = finer
view-bar-card-first-weigh-dose-and-cup-again = First weigh dose and cup again, and pull once more: one odd pull is no reason to move.
view-bar-card-grind-one-to-about-s = grind one { $click } { $way }, to { $setting } (about { $number } s { $part })
view-bar-card-has-no-keeper-yet-keep-a = “{ $name }” has no keeper yet; keep a recipe first
view-bar-card-higher-is-finer = higher is finer
view-bar-card-how-far-it-may-wander = How far it may wander
view-bar-card-kept-printed-thirdpull = Kept { $kept } · printed { $today } · Thirdpull { $text }
view-bar-card-longer = longer
view-bar-card-lower-is-finer = lower is finer
view-bar-card-mark = mark
view-bar-card-no-figure-is-so-touchy-that = No figure is so touchy that half a point of liking was seen to hang on it.
view-bar-card-over = Over { $seconds }: { $moved }.{ $after }
view-bar-card-roasted = roasted { $day }
view-bar-card-shorter = shorter
view-bar-card-spurting-or-choked-prepare-a-new = Spurting or choked: prepare a new puck; do not judge the grind by that cup.
view-bar-card-take-care = Take care
view-bar-card-the-grinder-is-at-its-end = the grinder is at its end; it cannot go { $way }
view-bar-card-time-right-but-sour-and-thin = Time right but sour and thin: { $spoon } more in the cup. Time right but bitter and dry: { $spoon } less.
view-bar-card-under = Under { $seconds }: { $moved }.{ $after }
view-bar-card-when-it-is-off = When it is off
view-bar-card-within-one-figure-may-wander-the = Within ± one figure may wander, the others held, before liking is expected to fall by half a point of nine (worked out from { $counted } of this bag).

## workbench/view/care

view-care-count-cups = { $n ->
    [one] { $n } cup
   *[other] { $n } cups
  }
view-care-let-it-cool-to-where-you-can = Let it cool to where you can hold it in the mouth, stir, and rinse between cups.
view-care-move-the-burrs-by-the-grinders-own = Move the burrs by the grinder's own dial. Before fingers go near burrs: unplug it, wait until they stand still.
view-care-tasted-today-about-mg-caffeine-if = { $counted } tasted today: about { $tens }–{ $tens_2 } mg caffeine if swallowed
view-care-the-basket-is-still-under-pressure-stop = The basket is still under pressure. Stop the pump, wait until the pressure has vented, then turn the holder slowly.
view-care-water-at-the-group-is-near-93 = Water at the group is near 93 °C and scalds at a touch. Never loosen the basket holder under pressure.
view-care-with-the-published-guidance = { $tally }. Published guidance for healthy adults: up to 400 mg a day, 200 mg in pregnancy. Sip and spit; ask your doctor if unsure.
view-care-work-on-boilers-wiring-safety-valves-and = Work on boilers, wiring, safety valves and pressure parts is for licensed people under local code.

## workbench/view/compare

view-compare-1-other-pull = 1 other pull
view-compare-expected = expected
view-compare-median = median
view-compare-middle-half = middle half
view-compare-other-pulls = { $n } other pulls
view-compare-seconds-after-first-drip = seconds after first drip
view-compare-seconds-after-g-in-the-cup = seconds after { $drink } in the cup
view-compare-seconds-after-pump-on = seconds after pump on
view-compare-seconds-after-pump-on-of-the = seconds after pump on of the chosen pull, others at their best match
view-compare-seconds-as-recorded = seconds as recorded

## workbench/view/expected

view-expected-first-drip = First drip
view-expected-first-drip-came = { $place ->
    [early] The first drip came after { $value } s, where this flow lets one expect { $from }–{ $to } s: water reached the cup by a short way.
    [late] The first drip came after { $value } s, later than the { $from }–{ $to } s that this flow lets one expect: the bed opened afterwards, or the pressure came late.
   *[within] The first drip came after { $value } s, as this flow lets one expect ({ $from }–{ $to } s).
  }
view-expected-flow-changed = { $place ->
    [beyond] Flow grew { $value }-fold from the middle to the end; what dissolves explains { $from } to { $to }: the bed gives way.
    [short] Flow changed { $value }-fold from the middle to the end where { $from } to { $to } were to be expected: the bed closes up.
   *[within] Flow changed { $value }-fold from the middle to the end, which what dissolves explains ({ $from }–{ $to }).
  }
view-expected-growth-of-flow = Growth of flow

## workbench/view/keeper

view-keeper-choked = Pull { $number } choked, so it is no recipe to go by: choose a pull that ran through, or pull once more
view-keeper-let-go = Let the keeper go
view-keeper-over-a-recipe-is-kept = { $over } · a recipe is kept
view-keeper-over-pull-is-kept = { $over } · pull { $number } is kept
view-keeper-pull = Keep pull { $number }
view-keeper-pull-instead = Keep pull { $number } instead
view-keeper-pull-once-before = Pull once before a recipe can be kept
view-keeper-this-recipe = Keep this recipe
view-keeper-this-recipe-instead = Keep this recipe instead
view-keeper-this-recipe-is-kept = This recipe is kept

## workbench/view/keeping

view-keeping-a-bag-that-is-not-here = a bag that is not here
view-keeping-and-more = and { $more } more
view-keeping-backup-of = Backup of { $when }, { $ago }, { $size }
view-keeping-bag = bag
view-keeping-bags = { $many } bags
view-keeping-changed = { $counted } changed
view-keeping-changed-on-both-sides = { $conflicts } changed on both sides
view-keeping-changed-on-both-sides-the-later = Changed on both sides (the later edit stands, the other is kept as an earlier version):{ "\u000A" }
view-keeping-changes = Changes: { $counted }
view-keeping-comes-new = Comes new: { $counted }
view-keeping-count-bags = { $n ->
    [one] { $n } bag
   *[other] { $n } bags
  }
view-keeping-count-bytes = { $n ->
    [one] { $n } byte
   *[other] { $n } bytes
  }
view-keeping-count-drinkers = { $n ->
    [one] { $n } drinker
   *[other] { $n } drinkers
  }
view-keeping-count-packs = { $n ->
    [one] { $n } file of rules or practice
   *[other] { $n } files of rules or practice
  }
view-keeping-count-pulls = { $n ->
    [one] { $n } pull
   *[other] { $n } pulls
  }
view-keeping-count-records = { $n ->
    [one] { $n } record
   *[other] { $n } records
  }
view-keeping-count-stations = { $n ->
    [one] { $n } station
   *[other] { $n } stations
  }
view-keeping-count-traces = { $n ->
    [one] { $n } trace
   *[other] { $n } traces
  }
view-keeping-days-ago = { $n ->
    [one] { $n } day ago
   *[other] { $n } days ago
  }
view-keeping-gb = { $bytes } GB
view-keeping-hours-ago = { $n ->
    [one] { $n } hour ago
   *[other] { $n } hours ago
  }
view-keeping-in-the-future = in the future
view-keeping-just-now = just now
view-keeping-kb = { $bytes } kB
view-keeping-mb = { $bytes } MB
view-keeping-minutes-ago = { $n ->
    [one] { $n } minute ago
   *[other] { $n } minutes ago
  }
view-keeping-months-ago = { $n ->
    [one] { $n } month ago
   *[other] { $n } months ago
  }
view-keeping-new = { $counted } new
view-keeping-not-taken = Not taken: { $problem }{ "\u000A" }
view-keeping-nothing-new-everything-in-it-is = Nothing new: everything in it is here already.
view-keeping-of = { $counted } of { $bag }
view-keeping-stands-other = { "  " }{ $name } (stands: { $kept }; other: { $other }): { $lines }{ "\u000A" }
view-keeping-weeks-ago = { $n ->
    [one] { $n } week ago
   *[other] { $n } weeks ago
  }
view-keeping-years-ago = { $n ->
    [one] { $n } year ago
   *[other] { $n } years ago
  }

## workbench/view/ledger

view-ledger-bitter = bitter
view-ledger-choked = choked
view-ledger-dose = dose { $value }
view-ledger-drying = drying
view-ledger-flat = flat
view-ledger-grind = grind { $value }
view-ledger-heavy = heavy
view-ledger-just-right = just right
view-ledger-keeper = keeper
view-ledger-liking = liking { $liking }
view-ledger-not-bitter-enough = not bitter enough
view-ledger-not-sweet = not sweet
view-ledger-pull = Pull { $number }
view-ledger-sink = sink
view-ledger-sour = sour
view-ledger-spurting = spurting
view-ledger-strength = strength { $value }
view-ledger-thin = thin
view-ledger-too-smooth = too smooth
view-ledger-too-strong = too strong
view-ledger-too-sweet = too sweet
view-ledger-very = very { $word }
view-ledger-weak = weak
view-ledger-with-trace = with trace
view-ledger-yield = yield { $value }

## workbench/view/live

view-live-an-address-is-host-port-such = an address is host:port, such as 192.168.1.20:4000
view-live-choose-or-type-the-serial-port = choose or type the serial port
view-live-connected-but-nothing-has-come-for = Connected, but nothing has come for { $as_secs } s.
view-live-connected-no-reading-yet = Connected; no reading yet.{ $wrong }
view-live-connecting-to = Connecting to { $place } …
view-live-file-that-grows = File that grows
view-live-lines-could-not-be-read-the = { $n ->
    [one] { " " }One line could not be read: { $why }
   *[other] { " " }{ $n } lines could not be read; the last: { $why }
  }
view-live-network = Network
view-live-no-connection-to-trying-again = No connection to { $place } ({ $why }); trying again.
view-live-no-thread-could-be-started = no thread could be started: { $why }
view-live-readings-the-pull-starts-by-itself = { $readings } readings{ $what }. The pull starts by itself.{ $wrong }
view-live-serial-port = Serial port
view-live-standard-input = standard input
view-live-the-instrument-has-ended = The instrument has ended.
view-live-the-speed-is-a-whole-number = the speed is a whole number of bits a second, such as 115200
view-live-type-the-address-as-host-port = type the address as host:port
view-live-type-the-path-of-the-file = type the path of the file

## workbench/view/opening

view-opening-a-coffee-stands-here-once-it-has = A coffee stands here once it has a keeper with a time: pull it until you like it, time the pull, then press K on its page.
view-opening-count-coffees = { $n ->
    [one] { $n } coffee
   *[other] { $n } coffees
  }
view-opening-nobody-named = nobody named
view-opening-nothing-to-hold-yet = Nothing to hold yet
view-opening-of-ready-to-serve = { $ready } of { $counted } ready to serve
view-opening-ready-to-serve = { $counted } ready to serve
view-opening-someone = someone

## workbench/view/opening/bars

view-opening-bars-no-station-is-called-there-are = no station is called “{ $wanted }”; there are { $join }

## workbench/view/opening/causes

view-opening-causes-coffee = coffee
view-opening-causes-day = day
view-opening-causes-faster = faster
view-opening-causes-most-of-the-spread-comes-from = Most of the spread comes from one pull to the next: dosing, distribution, tamp
view-opening-causes-most-of-the-spread-comes-from-2 = Most of the spread comes from one day to another: ageing, weather, settings
view-opening-causes-most-of-the-spread-comes-with = Most of the spread comes with the coffee
view-opening-causes-most-of-the-spread-comes-with-2 = Most of the spread comes with the station: grinder or machine
view-opening-causes-most-of-the-spread-comes-with-3 = Most of the spread comes with who pulled: agree on one way of dosing and tamping
view-opening-causes-no-difference-between-people-can-be = ; no difference between people can be told
view-opening-causes-not-enough-yet-timed-pulls-of = Not enough yet: { $pulls } timed pulls of kept recipes in four weeks, { $fewest } are wanted
view-opening-causes-of-the-spread-of-the-time = { $share } % of the spread; from one { $name } to another the time varies by { $range }–{ $range_2 } % (sd)
view-opening-causes-of-the-spread-of-the-time-2 = { $single } % of the spread; from one pull to the next the time varies by { $sd } % (sd)
view-opening-causes-person = person
view-opening-causes-single-pull = single pull
view-opening-causes-slower = slower
view-opening-causes-station = station

## workbench/view/opening/chart

view-opening-chart-average-outside = weighted average outside its limits
view-opening-chart-keeper = keeper
view-opening-chart-new-bag = new bag
view-opening-chart-no-points = { $name }: no points
view-opening-chart-nothing-at-the-last = nothing marked at the last
view-opening-chart-points-last-limits = { $name }: { $n } points, last { $measured } { $unit }, limits { $limits }–{ $limits_2 }, { $fired }
view-opening-chart-pull-outside = single pull outside its limits
view-opening-chart-range-outside = moving range above its limit
view-opening-chart-sum-outside = cumulative sum beyond its limit

## workbench/view/opening/coffee

view-opening-coffee-count-coffees = { $n ->
    [one] { $n } coffee
   *[other] { $n } coffees
  }
view-opening-coffee-g-sunk-and-purged = { $lost } sunk and purged{ $money }{ $usual }
view-opening-coffee-next-week-kg-by-the-pulls = next week about { $kg } kg, going by the pulls recorded
view-opening-coffee-next-week-kg-in-all = next week about { $shown } kg in all{ $without }
view-opening-coffee-next-week-kg-in-all-kg = next week { $shown } kg in all ({ $shown_2 }–{ $shown_3 } kg, 8 times in 10){ $without }
view-opening-coffee-next-week-kg-kg-by-the-pulls = next week about { $kg } kg ({ $kg_2 }–{ $kg_3 } kg, 8 times in 10), going by the pulls recorded
view-opening-coffee-nothing-pulled-today = nothing pulled today
view-opening-coffee-usual-g-a-day = ; usual { $usual } a day
view-opening-coffee-without-a-whole-week-of-record = , { $counted } without a whole week of record left out

## workbench/view/opening/list

view-opening-list-g-and-minutes = { $coffee } and { $ceil } minutes
view-opening-list-move-the-grinder = { $name }: move the grinder { $start_move }, { $how }

## workbench/view/opening/mixing

view-opening-mixing-about-new-beans-in-the-grounds = about { $now } % new beans in the grounds now; { $more } until the old are through
view-opening-mixing-bag-changed-after-say-how-much = bag changed after { $before }: say how much of it was left in the hopper
view-opening-mixing-the-old-beans-of-are-ground = the old beans of { $before } are ground through

## workbench/view/opening/rooms

view-opening-rooms-colder = colder
view-opening-rooms-damper = damper
view-opening-rooms-drier = drier
view-opening-rooms-humidity = { $h } % humidity
view-opening-rooms-room = Room { $join }{ $than }
view-opening-rooms-than-last-time = ; { $join } than last time
view-opening-rooms-warmer = warmer

## workbench/view/opening/row

view-opening-row-about-new-beans-in-that-pull = about { $share } % new beans in that pull
view-opening-row-as-it-closed = grinder at { $shown }, as last closed
view-opening-row-choked-not-judged = Choked: not judged
view-opening-row-flow-time = flow time
view-opening-row-go-coarser-on-its-page-purge = Go coarser on its page, purge, pull again
view-opening-row-grinder-warm = { $way ->
    [faster] grinder warm from { $felt }: about { $warm } % faster expected and taken off
   *[slower] grinder warm from { $felt }: about { $warm } % slower expected and taken off
  }
view-opening-row-in-out = { $value } in, { $value_2 } out
view-opening-row-its-keeper-has-no-time-keep = its keeper has no time: keep a pull that was timed
view-opening-row-kept-on-another-grinder = kept on another grinder, whose settings say nothing here: dial it in and press K on its page
view-opening-row-moved-because = { $moved }: { $because }
view-opening-row-no-keeper-yet-dial-it-in = no keeper yet: dial it in and press K on its page
view-opening-row-not-timed-not-judged = Not timed: not judged
view-opening-row-old-and-new-beans-are-mixed = old and new beans are mixed: leave the grinder
view-opening-row-pull-one-to-open = Pull one to open
view-opening-row-start = Start { $clicks }
view-opening-row-that-it-helps = { $in_ten } that it helps
view-opening-row-then = { $arrow }, then { $purge_words }
view-opening-row-time-the-next-pull-or-put = Time the next pull, or put the time in on its page
view-opening-row-wait = Wait

## workbench/view/opening/say

view-opening-say-2-s-either-way-common-practice = 2 s either way, common practice
view-opening-say-a-shift-counts-from-on-false = a shift counts from { $in_ten } on; { $false_a_month } ± { $false_a_month_se } false adjustments a month in { $months } simulated months, { $false_a_month_2 } allowed
view-opening-say-choked = choked
view-opening-say-coarser = coarser
view-opening-say-dose-distribution-tamp-basket-the = dose, distribution, tamp, basket: the spread is off, not the level
view-opening-say-finer = finer
view-opening-say-how-readily-it-acts-is-still = how readily it acts is still being worked out; the usual limits stand in
view-opening-say-in-out = { $value } in · { $value_2 } out
view-opening-say-liking-falls-by-half-a-point = liking falls by half a point { $by } s off, by the model
view-opening-say-look-at-the-preparation = Look at the preparation
view-opening-say-move = Move { $clicks }
view-opening-say-next-pull-8-times-in-10 = next pull { $span }, 8 times in 10
view-opening-say-not-timed = not timed
view-opening-say-pull-once-more = Pull once more
view-opening-say-purge-g = purge { $coffee }
view-opening-say-serve = Serve
view-opening-say-set-by-the-bar = set by the bar: { $reason }
view-opening-say-start = start { $moved }
view-opening-say-start-2 = start { $moved }: { $because }
view-opening-say-start-where-it-closed = start where it closed
view-opening-say-start-where-it-closed-though = start where it closed, though { $because }
view-opening-say-that-it-is-real-not-noise = { $in_ten } that it is real
view-opening-say-that-it-moved = { $in_ten } that it moved
view-opening-say-that-it-moved-no-click-brings = { $in_ten } that it moved; no click brings it nearer
view-opening-say-that-nothing-moved = { $in_ten } that nothing moved noticeably
view-opening-say-that-the-spread-is-real = { $in_ten } that the spread is real
view-opening-say-that-this-brings-it-nearer = { $in_ten } that this brings it nearer
view-opening-say-the-airs-humidity-has-changed = the air's humidity has changed
view-opening-say-the-same-again-nothing-moved = the same again; touch nothing
view-opening-say-the-window-on-the-bags-sheet = the window on the bag's sheet
view-opening-say-then = { $setting } → { $setting_2 }, then { $purge_words }
view-opening-say-today = today { $time }
view-opening-say-yesterday = yesterday { $time }

## workbench/view/opening/sheet

view-opening-sheet-by = { " " }by { $who }
view-opening-sheet-caution = { "      " }Caution: { $caution }
view-opening-sheet-coffee-sunk = Coffee sunk
view-opening-sheet-count-coffees = { $n ->
    [one] { $n } coffee
   *[other] { $n } coffees
  }
view-opening-sheet-count-pulls = { $n ->
    [one] { $n } pull
   *[other] { $n } pulls
  }
view-opening-sheet-fast = { $p } % fast
view-opening-sheet-g-sunk-and-purged-today = { $lost } sunk and purged today{ $money }
view-opening-sheet-grinder = { "  " }grinder { $setting } · { $recipe } · { $window }
view-opening-sheet-grinder-2 = grinder { $setting } · { $recipe } · { $window }
view-opening-sheet-hand-over = Hand-over, { $when }
view-opening-sheet-handed-over-by = handed over by
view-opening-sheet-last-pull = { "  " }last pull { $when }: { $time }, { $masses }{ $who }
view-opening-sheet-last-pull-2 = last pull { $when } { $time }{ $who } · { $level }
view-opening-sheet-more-on-the-screen-or-one = { $more } more: on the screen, or one sheet a station
view-opening-sheet-no-pull-yet = no pull yet
view-opening-sheet-nobody-named = nobody named
view-opening-sheet-nobody-yet = nobody yet
view-opening-sheet-of-the-last-dashed = { $to_lowercase } of the last { $counted }, dashed: { $target } { $unit }
view-opening-sheet-on-target = on target
view-opening-sheet-opened = { "  " }opened: { $start }
view-opening-sheet-opening-list = Opening list ({ $list_cost })
view-opening-sheet-pulled-today = { "  " }pulled today: { $people }
view-opening-sheet-pulled-today-2 = { $headline } · pulled today: { $people } · { $sunk }
view-opening-sheet-slow = { $p } % slow
view-opening-sheet-taken-over-by = taken over by
view-opening-sheet-where-the-spread-comes-from = Where the spread comes from
view-opening-sheet-window-from = { "  " }the window is { $window_why }
view-opening-sheet-without-a-keeper = Without a keeper

## workbench/view/page

view-page-about = , about { $counted }
view-page-count-pulls = { $n ->
    [one] { $n } pull
   *[other] { $n } pulls
  }
view-page-day = day { $days }
view-page-dose = dose { $value }
view-page-grind = grind { $setting }
view-page-left = { $value } left{ $pulls }
view-page-roast-date-ahead-of-today = roast date ahead of today
view-page-too-little = { $value } left, too little for a pull
view-page-yield = yield { $value }

## workbench/view/pieces

view-pieces-more-than-pulls-the-rest-was = more than { $most_pieces } pulls; the rest was left out
view-pieces-no-file-was-named = no file was named
view-pieces-no-table-or-log-is-in = { $folder }: no table or log is in this folder ({ $join })
view-pieces-of = { $name }, { $at } of { $count }
view-pieces-of-files-only-the-first-were = of { $files } files only the first { $most_files } were read
view-pieces-the-pull-says-otherwise = The pull says { $pull }, this trace { $trace }. Is it the right one?
view-pieces-up-to-g = { " " }· up to { $mass }

## workbench/view/practice

view-practice-fitted-to-a-pull-at-off = fitted to a pull at { $value }: off by { $own_pct } % of it, by { $others_pct } % of others (median)
view-practice-it-fails-most-when-it-is = It fails most when it is fitted at low pressure and asked about a higher one. Pull by pull, % of the pull itself and of others: { $join }.
view-practice-measured-against-real-pulls-at-several = { $honesty } Measured against { $n } real pulls at several pressures (Waszkiewicz et al., Phys. Fluids 38, 063113, 2026, open data), cup mass from 5 g to 99 s, worst moment of each. “Make the bench behave like this bag” comes within { $n_2 } % of the pull it was fitted to (median; { $n_3 } % the worst), and within { $n_4 } % of another one at another pressure (median; a quarter are off by more than { $n_5 } %, { $n_6 } % stay within 15 %). Real pulls repeat no better: one as the prediction of its repeat is off by { $n_7 } to { $n_8 } %.
view-practice-simulated-knows-nothing-of-aroma-crema = Simulated. Knows nothing of aroma, crema, milk or your machine. Fitted to one real pull, it misses another by { $other_median_pct } %.

## workbench/view/practice/cup

view-practice-cup-a-gusher = A gusher.{ " " }
view-practice-cup-a-little = a little{ " " }
view-practice-cup-against = Against { $name }: { $listed }.
view-practice-cup-against-the-real-pull = Cup mass past 5 g against { $name }: off by { $share } % at most, { $simulated } where { $real } fell, at { $time }.
view-practice-cup-before = before
view-practice-cup-choked-next-to-nothing-falls-coarser = Choked: next to nothing falls. Coarser, or less coffee.
view-practice-cup-drier-on-the-tongue = drier on the tongue
view-practice-cup-fuller = fuller
view-practice-cup-less-bitter = less bitter
view-practice-cup-less-drying = less drying
view-practice-cup-less-sour = less sour
view-practice-cup-less-sweet = less sweet
view-practice-cup-more-bitter = more bitter
view-practice-cup-much = much{ " " }
view-practice-cup-sourer = sourer
view-practice-cup-stronger = stronger
view-practice-cup-sweeter = sweeter
view-practice-cup-tastes-like = Tastes like { $name }.
view-practice-cup-the-cup-never-fills-within-two = The cup never fills within two minutes.
view-practice-cup-the-usual-cup = the usual cup
view-practice-cup-thinner = thinner
view-practice-cup-weaker = weaker

## workbench/view/practice/exercises

view-practice-exercises-all-just-right = all just right
view-practice-exercises-and-ran-out-of-pulls = and ran out of pulls
view-practice-exercises-and-was-content = and was content
view-practice-exercises-bitter = bitter
view-practice-exercises-choked = choked
view-practice-exercises-count-hints = { $n ->
    [one] { $n } hint
   *[other] { $n } hints
  }
view-practice-exercises-count-pulls = { $n ->
    [one] { $n } pull
   *[other] { $n } pulls
  }
view-practice-exercises-drying = drying
view-practice-exercises-far-too = far too { $more }
view-practice-exercises-far-too-2 = far too { $less }
view-practice-exercises-first-drip-s = , first drip { $number } s
view-practice-exercises-flat = flat
view-practice-exercises-grind-in-out = grind { $number }, { $value } in, { $value_2 } out{ $water }
view-practice-exercises-heavy = heavy
view-practice-exercises-higher = higher
view-practice-exercises-in-one-sentence = In one sentence
view-practice-exercises-liking = liking { $liking }
view-practice-exercises-little-sweet = little sweet
view-practice-exercises-lower = lower
view-practice-exercises-nobody-named = nobody named
view-practice-exercises-not-near-enough-yet = not near enough yet
view-practice-exercises-one-mark-is-m = One mark is { $number } µm.
view-practice-exercises-points-of-100 = { $points } points of 100: { $part }
view-practice-exercises-points-poured-away = { $who } · { $exercise }{ $word } · { $points } points · { $counted } · { $sinks } poured away
view-practice-exercises-poured-away = poured away
view-practice-exercises-poured-away-g-of-coffee = { $counted }, { $sinks } poured away, { $coffee } of coffee, { $counted_2 }.
view-practice-exercises-roast = { $name }, { $roast } roast. { $about }
view-practice-exercises-slick = slick
view-practice-exercises-sour = sour
view-practice-exercises-spurting = spurting
view-practice-exercises-strength = strength { $number } %
view-practice-exercises-strong = strong
view-practice-exercises-sweet = sweet
view-practice-exercises-tame = tame
view-practice-exercises-the-bag-says-roast-days-ago = The bag says { $roast } roast, { $number } days ago. On this grinder { $finer } is finer.
view-practice-exercises-the-best-cup-here = The best cup here
view-practice-exercises-the-clock = the clock
view-practice-exercises-the-coffee = The coffee
view-practice-exercises-the-cup-passes = the cup passes
view-practice-exercises-the-dose = the dose
view-practice-exercises-the-drink = the drink
view-practice-exercises-the-drinker = The drinker
view-practice-exercises-the-drinkers-liking = the drinker’s liking
view-practice-exercises-the-drinkers-marks = the drinker’s marks
view-practice-exercises-the-engine-at-the-same-coffee = The engine at the same coffee
view-practice-exercises-the-engine-could-not-play = The engine could not play: { $why }.
view-practice-exercises-the-engine-is-still-pulling = The engine is still pulling.
view-practice-exercises-the-engine-took-it-served-pull = The engine took { $counted } { $how }. It served pull { $served }, which is liked { $number }: { $points } points.
view-practice-exercises-the-grind = the grind
view-practice-exercises-the-grinder = The grinder
view-practice-exercises-the-strength = the strength
view-practice-exercises-the-strips = the strips
view-practice-exercises-the-water = the water
view-practice-exercises-thin = thin
view-practice-exercises-too = too { $more }
view-practice-exercises-too-2 = too { $less }
view-practice-exercises-weak = weak
view-practice-exercises-you-may-move-you-see-at = You may move { $listed }. You see { $listed_2 }. { $counted } at hand.
view-practice-exercises-your-cup-is-liked-the-best = Your cup is liked { $n }; the best that can be reached here { $n_2 }, { $n_3 } away.

## workbench/view/practice/handles

view-practice-handles-1-usual-less-is-more-even = 1 usual, less is more even
view-practice-handles-above-the-bed = Above the bed
view-practice-handles-counted-from-the-roast-date = Counted from the roast date
view-practice-handles-drink-in-the-cup = Drink in the cup
view-practice-handles-dry-coffee-in-the-basket = Dry coffee in the basket
view-practice-handles-follows-the-line-drawn-at-the = Follows the line drawn at the right
view-practice-handles-higher-is-finer = Higher is finer
view-practice-handles-light-to-dark = Light to dark
view-practice-handles-lower-is-finer = Lower is finer
view-practice-handles-the-bench-goes-from-to = the bench goes from { $shown } to { $shown_2 }
view-practice-handles-water-that-enters-the-puck = Water that enters the puck

## workbench/view/practice/inside

view-practice-inside-a-channel-is-open = a channel is open
view-practice-inside-at-s = At { $number } s
view-practice-inside-at-the-bottom = at the bottom
view-practice-inside-at-the-top = at the top
view-practice-inside-bottom = bottom
view-practice-inside-channel = channel
view-practice-inside-channel-2 = Channel
view-practice-inside-dry = dry
view-practice-inside-given = given
view-practice-inside-given-up-by-the-grains = given up by the grains
view-practice-inside-left-in-the-grains = Left in the grains, %
view-practice-inside-mm-s = mm/s
view-practice-inside-of-flow = of flow
view-practice-inside-path = Path { $name }
view-practice-inside-path-2 = path
view-practice-inside-share-of-the-flow = share of the flow
view-practice-inside-speed-in-mm-s = speed in mm/s
view-practice-inside-strength-of-the-water = Strength of the water, %
view-practice-inside-the-bed-is-dry = { $time } the bed is dry.
view-practice-inside-the-bed-is-wet-throughout = { $time } the bed is wet throughout
view-practice-inside-the-bed-is-wet-to-of = { $time } the bed is wet to { $number } % of its depth
view-practice-inside-the-water-holds = the water holds
view-practice-inside-to = { $what } { $number } to { $number_2 } %
view-practice-inside-to-of-the-solubles-have-left = { $number } to { $number_2 } % of the solubles have left the grains
view-practice-inside-top = top
view-practice-inside-water-moves-at-to-mm-s = water moves at { $number } to { $number_2 } mm/s
view-practice-inside-wet = wet
view-practice-inside-what-is-left-in-the-grains = what is left in the grains is

## workbench/view/practice/sheet

view-practice-sheet-answers = { " " }— answers
view-practice-sheet-before-anyone-goes-to-the-machine = Before anyone goes to the machine
view-practice-sheet-begin-at = Begin at: { $start }
view-practice-sheet-name = Name:
view-practice-sheet-simulated-local-rules-come-first = Simulated; local rules and a teacher's word come first.
view-practice-sheet-word-on-the-blackboard = { " " }· word on the blackboard: { $safe }

## workbench/view/practice/strips

view-practice-strips-at-s = At { $number } s. { $join }
view-practice-strips-before = before
view-practice-strips-cup-mass = Cup mass
view-practice-strips-exit-temp = Exit temp.
view-practice-strips-flow = Flow
view-practice-strips-now = now
view-practice-strips-pressure = Pressure
view-practice-strips-real = real
view-practice-strips-strength-now = Strength now

## workbench/view/practice/sweeps

view-practice-sweeps-at-the-same-time = at the same time
view-practice-sweeps-coffee = coffee
view-practice-sweeps-drinker = drinker
view-practice-sweeps-its-data-were-read = its data were read
view-practice-sweeps-measured = □ measured: { $source }
view-practice-sweeps-no-difference-worth-naming = = no difference worth naming
view-practice-sweeps-no-published-measurement = no measurement published on these axes
view-practice-sweeps-no-pull-in-the-range-has = No pull in the range has { $what }.
view-practice-sweeps-not-the-same-time = { $name } (not the same time)
view-practice-sweeps-only-the-abstract-was-read = only the abstract was read
view-practice-sweeps-read-second-hand = read second hand
view-practice-sweeps-station = station
view-practice-sweeps-the-paper-was-read = the paper was read
view-practice-sweeps-the-study-names-the-which-is = the study names the { $what } “{ $name }”, which is not there
view-practice-sweeps-there-is-no-study = there is no study “{ $name }”

## workbench/view/reading

view-reading-a-guess = , a guess
view-reading-against-the-model = Against the model
view-reading-at-g-s-after-the-first = at { $drink }, { $number } s after the first drip: { $with_sd }
view-reading-bar-s-ml = bar s/ml
view-reading-events = Events
view-reading-measures = Measures
view-reading-resistance-as-the-cup-fills = Resistance as the cup fills
view-reading-the-trace-shows-too-little-to = The trace shows too little to compare it with the model: it takes pump on, first drip and cup mass.
view-reading-what-cleaning-does = What cleaning does

## workbench/view/records

view-records-a-bag = a bag
view-records-a-drinker = a drinker
view-records-a-drinker-who-is-not-here = a drinker who is not here
view-records-a-pull = a pull{ $of }
view-records-a-station = a station
view-records-a-station-that-is-not-here = a station that is not here
view-records-as-many-as-pay = as many as pay
view-records-as-the-system = as the system
view-records-astringency = Astringency
view-records-bag = bag { $name }
view-records-bar = bar
view-records-basket-diameter-mm = Basket diameter (mm)
view-records-basket-made-for = Basket made for
view-records-bitterness = Bitterness
view-records-body = Body
view-records-by = { $text }–{ $text_2 } by { $text_3 }
view-records-choked = Choked
view-records-class = class
view-records-dark = dark
view-records-decimal-comma = Decimal comma
view-records-dose-range-g = Dose range (g)
view-records-drinker = drinker { $name }
view-records-drinker-2 = Drinker
view-records-false-adjustments-a-month = False adjustments a month
view-records-finer = Finer
view-records-finished = Finished
view-records-first-drip = First drip
view-records-from-to = { $what } from { $word } to { $word_2 }
view-records-grind = grind { $plain }
view-records-grind-settings = Grind settings
view-records-grinder = Grinder
view-records-grounds-retained = Grounds retained
view-records-higher-numbers = higher numbers
view-records-home = home
view-records-keeper = Keeper
view-records-keeper-time = Keeper time
view-records-letters = letters
view-records-levers-at-once = Levers moved at once
view-records-light = light
view-records-liking = Liking
view-records-lower-numbers = lower numbers
view-records-machine = Machine
view-records-mass = Mass
view-records-mass-when-full = Mass when full
view-records-micrometres-a-unit = Micrometres a unit
view-records-name = Name
view-records-names-of-people = Names of people
view-records-no = no
view-records-note = Note
view-records-nothing = nothing
view-records-of = { " " }of { $name }
view-records-one = one
view-records-opened-on = Opened on
view-records-plan = Plan
view-records-pressure = Pressure
view-records-price = Price
view-records-process = Process
view-records-psi = psi
view-records-pull = pull { $number }{ $of }
view-records-pulled-at = Pulled at
view-records-pulled-by = Pulled by
view-records-put-away = Put away
view-records-refractometer = Refractometer
view-records-removed = Removed
view-records-roast = Roast
view-records-roasted-on = Roasted on
view-records-roaster = Roaster
view-records-shown = shown
view-records-sink = Sink
view-records-sourness = Sourness
view-records-spurting = Spurting
view-records-start-dose = Start dose
view-records-start-grind = Start grind
view-records-start-temperature = Start temperature
view-records-start-yield = Start yield
view-records-station = station { $name }
view-records-station-2 = Station
view-records-stepless = Stepless
view-records-strength-in-the-cup = Strength in the cup
view-records-sweetness = Sweetness
view-records-temperature-range-c = Temperature range (°C)
view-records-the-preferences = the preferences
view-records-the-pull-of = the pull of { $moment }{ $of }
view-records-theme = Theme
view-records-time-window = Time window
view-records-trace = Trace
view-records-way-of-living = Mode
view-records-yes = yes
view-records-yield-range-g = Yield range (g)
view-records-zoom = Zoom

## workbench/view/shelf

view-shelf-count-pulls = { $n ->
    [one] { $n } pull
   *[other] { $n } pulls
  }
view-shelf-day = day { $days }
view-shelf-dialling-in = Dialling in
view-shelf-finished = Finished
view-shelf-holding = Holding
view-shelf-resting = Resting

## workbench/view/strips

view-strips-cup-mass = Cup mass
view-strips-flow = Flow
view-strips-pressure = Pressure
view-strips-temperature = Temperature

## workbench/view/taste_map

view-taste-map-best = best
view-taste-map-dose = dose { $value }
view-taste-map-grind = grind { $setting }
view-taste-map-liking = , liking { $l }
view-taste-map-next = next
view-taste-map-place = place
view-taste-map-pulls-in-order = { " " }Pulls in order: { $join }.
view-taste-map-taste-map-across-up = Taste map, { $to_lowercase } across, { $to_lowercase_2 } up.
view-taste-map-taste-map-across-up-best-liking = Taste map, { $to_lowercase } across, { $to_lowercase_2 } up. Best: { $pair }, liking { $number } ± { $number_2 }. Next pull: { $pair_2 }.
view-taste-map-yield = yield { $value }

## workbench/view/what_if

view-what-if-above = above
view-what-if-as-good-as-the-next-pull = As good as the next pull.
view-what-if-as-good-as-the-recipe-to-change = As good as the recipe to change.
view-what-if-below = below
view-what-if-expect-mean-liking = { $recipe }: expect { $join }. Mean liking { $number } ± { $number_2 }. { $against }
view-what-if-extraction = Extraction
view-what-if-liking = Liking
view-what-if-points-the-next-pull = { $number } points { $way } the next pull.
view-what-if-points-the-recipe-to-change = { $number } points { $way } the recipe to change.
view-what-if-this-is-the-next-pull = This is the next pull.
view-what-if-this-is-the-recipe-to-change = This is the recipe to change.

## workbench/view/words

view-words-a-little-too-little = a little too little
view-words-a-little-too-much = a little too much
view-words-dose = Dose
view-words-far-too-little = far too little
view-words-far-too-much = far too much
view-words-grind = Grind
view-words-just-right = just right
view-words-strength = Strength
view-words-temperature = Temperature
view-words-time = Time
view-words-yield = Yield
