"""A plan that is made to be kept: protected in many ways, judged by the same futures."""
