package record

// Sure is how many standard errors away from a bound a value has to be before
// it is said to be on that side: about one time in forty that is wrong.
const Sure = 2
