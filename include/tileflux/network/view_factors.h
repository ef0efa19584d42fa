#pragma once
/// View factors F12: the share of what surface 1 emits diffusely that arrives at surface 2. A1 F12 = A2 F21.
/// Closed forms are those of Howell, A Catalog of Radiation Heat Transfer Configuration Factors (catalogue numbers
/// given), and of Incropera et al., Fundamentals of Heat and Mass Transfer, chapter 13.

#include <Eigen/Core>
#include <span>
#include <vector>

namespace tileflux::network {

/// Equal, directly opposed rectangles `width` x `length` at a distance (C-11). All lengths > 0, in one unit.
double parallel_rectangles_view_factor(double width, double length, double distance);

/// From a rectangle `width1` x `edge` to one `width2` x `edge` at right angles along the common edge (C-14).
double perpendicular_rectangles_view_factor(double width1, double width2, double edge);

/// From a disc of radius r1 to a coaxial parallel disc of radius r2 (C-41).
double coaxial_discs_view_factor(double radius1, double radius2, double distance);

/// Equal, directly opposed strips without end, `width` wide at a distance (C-1).
double parallel_strips_view_factor(double width, double distance);

/// Two plates without end that share an edge, `width1` and `width2` wide, at an included angle (C-5a): Hottel's crossed
/// strings.
double hinged_strips_view_factor(double width1, double width2, double included_angle_rad);

/// Flat polygon in space: corners in order, counter-clockwise as seen from its radiating side.
using Polygon = std::vector<Eigen::Vector3d>;

/// Area and unit normal of a flat polygon.
double polygon_area(const Polygon& polygon);
Eigen::Vector3d polygon_normal(const Polygon& polygon);

/// View factor of two flat polygons that see each other fully (convex, unobstructed, each wholly in front of the
/// other's plane; touching edges are allowed), by the double contour integral (Sparrow 1963, Journal of Heat Transfer
/// 85, 81; the inner integral in closed form after Mitalas & Stephenson 1966). Throws Error(value_out_of_range) for a
/// polygon that is not flat, has no area, or is behind the other one.
double polygon_view_factor(const Polygon& from, const Polygon& to);

}  // namespace tileflux::network
