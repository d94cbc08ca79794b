"""Least squares: observations, parameters, covariance, data snooping, advice on what to measure next."""
