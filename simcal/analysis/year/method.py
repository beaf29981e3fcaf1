"""How `year` simulates, in words for `year --method`; rules of habit are marked as such."""

METHOD = """\
HOW year GETS ITS NUMBERS

Time       Day 0 is a Monday and 1 January; a year has 365 days. Benches and people work in staffed hours, work that
           is not done at the close goes on at the next opening. Sensors away and repairs pass by the calendar.
Jobs       Batches are a Poisson process, weighed by weekday and month, each of one kind of instrument and of a
           geometric size. They are drawn before anything else, so nothing in the laboratory changes what comes.
A job      takes a bench: connecting, the run, a leak check, releasing. The run's time is that of `settle` on the
           LAB's bench and the time of switching sensors, else as stated. A leaking connection is seen (less the miss)
           and connected anew; so is a tight one by a false alarm. Urgent jobs go first, then as they came, of those
           that have their sensors. What is cut off by a failure is begun again.
Sensors    Which sensor serves which point is the answer of `cover`. A job can start when each of its points has one
           of its sensors in the laboratory and a bench is up; it need not be free. 0 gauge needs none. They leave at
           the first staffed moment of their date: interval after their return ("calibration") or after they were
           first put on a bench ("first use"), or on fixed dates (a plan). Those of a batch leave and come back
           together; the time is log-normal by its median and the one that one in ten exceeds. A bench checks each
           before it is used.
           [ways of counting an interval, acceptance: common practice, no source]
Exchange   Putting in or taking out takes the bench, is followed by a short check, and leaves a leaking seal with the
           share stated, or that of the named seal: torque log-normal about the stated one, standard deviation 5 %
           torque-limited and 40 % by feel, and the leak at that torque as in `settle`.
           [both scatters: common practice, no source; what a seal leaks: a stated teaching assumption]
           A leak that the short check sees is mended at once; one that it misses stays until a job's check sees it.
Found out  An as-found error is normal; beyond the sensor's accuracy figure with the share stated after one interval,
           and growing with the time in use, as its root ("random walk") or in proportion ("steady"). All jobs since
           the calibration before are listed: the error at each point that this sensor read, and the margin of the job
           there, the distance of its drawn reading from the tolerance (normal, by the prior).

Uptime     of the bench: share of the jobs, of those that some sensor of the year serves, that could start when they
           came. Of a range: share of staffed hours in which a job of it could start; calendar: of all hours.
Late       after the promise; jobs refused or taken back are counted apart.
Intervals  of a mean: Student's t over the replications, 95 %, its skewness removed. [Hall, J. R. Statist. Soc. B 54
           (1992) 221] Bands: 5 % and 95 % points of the replications. [order statistics; David and Nagaraja, Order
           Statistics, 2003] With --width replications are added until the interval is as narrow; the stopping itself
           makes it a little too narrow.
Compared   by the same draws: jobs, absences, failures of one replication are those of the other, a difference of two
           means has the interval of the paired differences. A plan found by search is a good one, not proved the
           best; it is looked for with other draws than those by which it is then judged.
Checked    in every replication: Little's law, L = lambda W. [J. D. C. Little, Operations Research 9 (1961) 383]
"""
